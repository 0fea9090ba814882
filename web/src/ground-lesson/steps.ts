// The points one by one: what is said at each, and the moment that goes with it.

export class Steps {
  private buttons: HTMLButtonElement[] = [];
  private texts: HTMLElement[] = [];
  private chosen = -1;

  constructor(private readonly root: HTMLElement, private readonly go: (time: number) => void) {
    root.addEventListener("click", (event) => {
      const button = (event.target as Element).closest<HTMLButtonElement>("[data-step]");
      if (!button) return;
      this.choose(Number(button.dataset.step));
      this.go(Number(button.dataset.time));
    });
  }

  /** New numbers at the same points: the one that was looked at stays. */
  put(_html: string): void {
    this.buttons = [...this.root.querySelectorAll<HTMLButtonElement>("[data-step]")];
    this.texts = [...this.root.querySelectorAll<HTMLElement>("[data-step-text]")];
    const chosen = Math.max(0, this.chosen);
    this.chosen = -1;
    this.choose(chosen);
  }

  /** The moment moved: the point that it is on its way to, within the part that is told. */
  follow(time: number): void {
    const next = this.buttons.findIndex((button) => Number(button.dataset.time) >= time - 0.1);
    if (next >= 0) this.choose(next);
  }

  private choose(step: number): void {
    if (step === this.chosen) return;
    this.chosen = step;
    this.buttons.forEach((button, k) => button.setAttribute("aria-pressed", String(k === step)));
    this.texts.forEach((text, k) => (text.hidden = k !== step));
  }
}
