// The one moment that all pictures show; they are told once a frame at the most.

type Listener = (time: number) => void;

export class Cursor {
  private time = 0;
  private asked = false;
  private readonly listeners: Listener[] = [];

  constructor(readonly duration: number) {}

  get now(): number {
    return this.time;
  }

  move(time: number): void {
    this.set(time);
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => {
      this.asked = false;
      this.tell();
    });
  }

  /** Where it is, without telling anyone yet. */
  set(time: number): void {
    this.time = Math.min(this.duration, Math.max(0, time));
  }

  follow(listener: Listener): void {
    this.listeners.push(listener);
  }

  tell(): void {
    for (const listener of this.listeners) listener(this.time);
  }
}
