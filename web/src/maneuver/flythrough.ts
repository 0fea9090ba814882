// Flying through it at one to four times its speed, and the slider that holds the moment.
import type { Cursor } from "./cursor";
import type { Flight } from "./flight";

const TOLD = ["bank_into_turn_deg", "pitch_from_level_deg", "airspeed_kt", "altitude_change_ft", "load_factor_g"];

export class FlyThrough {
  private speed = 1;
  private last: number | null = null;
  private readonly play: HTMLButtonElement | null;
  private readonly speeds: HTMLButtonElement[];

  constructor(private readonly root: HTMLElement, private readonly flight: Flight, private readonly cursor: Cursor) {
    this.play = root.querySelector('[data-key="play"]');
    this.speeds = [...root.querySelectorAll<HTMLButtonElement>("[data-speed]")];
    this.play?.addEventListener("click", () => this.toggle());
    for (const button of this.speeds) button.addEventListener("click", () => this.setSpeed(Number(button.dataset.speed)));
    this.startSlider();
    root.querySelector<HTMLElement>(".controls")?.removeAttribute("hidden");
  }

  get playing(): boolean {
    return this.last !== null;
  }

  toggle(): void {
    if (this.last !== null) return this.stop();
    if (this.cursor.now >= this.flight.duration - 0.05) this.cursor.move(0);
    this.last = performance.now();
    this.name("Pause");
    requestAnimationFrame((now) => this.step(now));
  }

  stop(): void {
    this.last = null;
    this.name("Play");
  }

  setSpeed(speed: number): void {
    this.speed = speed;
    for (const button of this.speeds) button.setAttribute("aria-pressed", String(Number(button.dataset.speed) === speed));
  }

  private step(now: number): void {
    if (this.last === null) return;
    const gone = Math.min(0.25, (now - this.last) / 1000);
    this.last = now;
    const next = this.cursor.now + gone * this.speed;
    this.cursor.move(next);
    if (next >= this.flight.duration) this.stop();
    else requestAnimationFrame((later) => this.step(later));
  }

  private name(word: string): void {
    if (this.play) this.play.textContent = word;
  }

  private startSlider(): void {
    const slider = this.root.querySelector<HTMLInputElement>("[data-moment]");
    const clock = this.root.querySelector<HTMLOutputElement>("[data-clock]");
    const readout = this.root.querySelector<HTMLElement>("[data-readout]");
    if (!slider) return;
    slider.max = String(this.flight.duration);
    slider.addEventListener("input", () => this.cursor.move(Number(slider.value)));
    this.cursor.follow((time) => {
      slider.value = String(time);
      const said = this.said(time);
      slider.setAttribute("aria-valuetext", `${this.flight.clock(time)}: ${said}`);
      if (clock) clock.textContent = this.flight.clock(time);
      if (readout) readout.textContent = said;
    });
  }

  private said(time: number): string {
    const turned = this.flight.at("heading_change_deg", time) ?? 0;
    const values = TOLD.flatMap((name) => {
      const value = this.flight.at(name, time);
      const shown = this.flight.told.quantities[name];
      return value === undefined || !shown ? [] : [`${shown.title.toLowerCase()} ${this.flight.written(name, value)}`];
    });
    return [`turned ${turned.toFixed(0)}°`, ...values].join(" · ");
  }
}
