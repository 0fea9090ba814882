// Asks the server for the plan as the sliders move: one question at a time, and of those that wait only the last.
import { answered, Refused } from "../sending";

export interface Plan {
  pictures: string;
  below: string;
  places: string;
  numbers: string;
  steps: string;
  flown: object | null;
  free: Record<string, number>;
  command: string;
  summary: string;
  said: string;
}

const PATH = "/ground-lesson";
const SLOW_MS = 600;
const REST_MS = 700;

export class Planner {
  private asking = false;
  private next: { query: URLSearchParams; since: number } | null = null;
  private last = "";
  private saying: ReturnType<typeof setTimeout> | undefined;
  private readonly refusal: HTMLElement;
  private readonly stale: HTMLElement;

  constructor(private readonly root: HTMLElement, private readonly put: (plan: Plan) => void) {
    this.refusal = root.querySelector<HTMLElement>("#asked .refusal")!;
    this.stale = root.querySelector<HTMLElement>("[data-stale]")!;
  }

  ask(query: URLSearchParams): void {
    this.next = { query, since: performance.now() };
    if (this.asking) return;
    void this.answer();
  }

  private async answer(): Promise<void> {
    this.asking = true;
    while (this.next) {
      const { query, since } = this.next;
      this.next = null;
      await this.one(query, since);
    }
    this.asking = false;
  }

  private async one(query: URLSearchParams, since: number): Promise<void> {
    const slow = setTimeout(() => this.wait(), SLOW_MS);
    try {
      const response = await fetch(`${PATH}/plan?${query}`, { headers: { accept: "application/json" } });
      this.show(answered<Plan>(response.status, await response.text()));
      // From what was asked until the new pictures can be seen: the frame after they were put in.
      requestAnimationFrame(() => setTimeout(() => performance.measure("plan", { start: since, end: performance.now() })));
      clearTimeout(slow);
      this.keep(query);
    } catch (error) {
      clearTimeout(slow);
      this.refuse(error instanceof Refused ? error.message : "The server does not answer. Is it still running?");
    }
  }

  /** Pictures that stand longer than a moment after a slider has moved are not this plan's: said so. */
  private wait(): void {
    if (!this.last) return;
    this.stale.textContent = "Working it out …";
    this.stale.hidden = false;
  }

  private show(plan: Plan): void {
    this.refusal.hidden = true;
    this.stale.hidden = true;
    this.root.classList.remove("is-stale");
    for (const place of this.root.querySelectorAll<HTMLElement>("[data-live]")) {
      place.innerHTML = plan[place.dataset.live as "numbers"];
    }
    const command = this.root.querySelector("[data-command]");
    if (command) command.textContent = plan.command;
    this.put(plan);
    this.last = plan.summary;
    this.say(plan.said);
  }

  /** For who hears the page: once the sliders rest. */
  private say(text: string): void {
    clearTimeout(this.saying);
    this.saying = setTimeout(() => {
      const place = this.root.querySelector("[data-summary]");
      if (place) place.textContent = text;
    }, REST_MS);
  }

  /** The address and what is taken along say what is shown. */
  private keep(query: URLSearchParams): void {
    const own = new URLSearchParams(query);
    own.delete("narrow");
    own.delete("error");
    history.replaceState(null, "", `${PATH}?${own}`);
    for (const link of this.root.querySelectorAll<HTMLAnchorElement>("[data-along]")) {
      const [name, more] = (link.dataset.along ?? "").split("?");
      link.href = `${PATH}/${name}?${own}${more ? `&${more}` : ""}`;
    }
  }

  /** No plan: said in words; the pictures stay, marked as those of the last one. */
  private refuse(message: string): void {
    this.refusal.textContent = message;
    this.refusal.hidden = false;
    if (!this.last) {
      for (const place of this.root.querySelectorAll<HTMLElement>('[data-live="pictures"]')) place.textContent = "";
      return;
    }
    this.root.classList.add("is-stale");
    this.stale.textContent = `Not this plan, but the last one that can be flown. ${this.last}`;
    this.stale.hidden = false;
  }
}
