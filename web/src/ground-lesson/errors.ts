// Common errors: a button each flies one over the plan; pressed again, or with the button at the pictures, it goes.
import type { Controls } from "./controls";

export class Errors {
  private readonly buttons: HTMLButtonElement[];

  constructor(private readonly root: HTMLElement, private readonly controls: Controls) {
    this.buttons = [...root.querySelectorAll<HTMLButtonElement>("[data-error]")];
    for (const button of this.buttons) {
      button.addEventListener("click", () => {
        const own = button.dataset.error ?? "";
        const on = this.controls.error !== own;
        this.controls.show(on ? own : "");
        if (on) this.root.querySelector(".shown-plan")?.scrollIntoView({ block: "start", behavior: "auto" });
      });
    }
    root.addEventListener("click", (event) => {
      if (!(event.target as Element).closest('[data-do="plan-alone"]')) return;
      const shown = this.buttons.find((button) => button.dataset.error === this.controls.error);
      this.controls.show("");
      shown?.focus();
    });
  }

  put(): void {
    for (const button of this.buttons) {
      button.setAttribute("aria-pressed", String(button.dataset.error === this.controls.error));
    }
  }
}
