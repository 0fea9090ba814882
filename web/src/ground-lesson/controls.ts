// The sliders in view and the folded fields: what they ask for, and what the plan found where they ask nothing.

const NARROW = "(max-width: 39.99rem)";
/** What stays when the maneuver or the airplane changes. */
const DAY = ["density_altitude_ft", "isa_deviation_c", "wind_from_deg", "wind_kt", "line_deg"];

export class Controls {
  error = "";
  private readonly form: HTMLFormElement;
  private readonly narrow = matchMedia(NARROW);

  constructor(root: HTMLElement, private readonly ask: () => void) {
    this.form = root.querySelector<HTMLFormElement>("#asked")!;
    this.form.addEventListener("input", (event) => {
      const input = event.target as HTMLInputElement;
      delete input.dataset.free;
      this.tell(input);
      this.ask();
    });
    this.form.addEventListener("submit", (event) => event.preventDefault());
    for (const button of this.form.querySelectorAll<HTMLButtonElement>("[data-let]")) {
      button.addEventListener("click", () => this.free(button));
    }
    this.narrow.addEventListener("change", () => this.ask());
    this.startChoosing(root.querySelector<HTMLFormElement>("#choose")!);
    for (const input of this.sliders()) this.tell(input);
  }

  /** What is asked for, as the query of an address: only what was set. */
  query(): URLSearchParams {
    const { maneuver, airplane, side } = this.form.dataset;
    const query = new URLSearchParams({ maneuver: maneuver ?? "", airplane: airplane ?? "", side: side ?? "right" });
    for (const input of this.form.querySelectorAll<HTMLInputElement>("input")) {
      if (input.dataset.free === undefined && input.value !== "") query.set(input.name, input.value);
    }
    if (this.error) query.set("error", this.error);
    if (this.narrow.matches) query.set("narrow", "1");
    return query;
  }

  show(error: string): void {
    this.error = error;
    this.ask();
  }

  /** Where nothing was set the controls show what the plan took or found. */
  put(found: Record<string, number>): void {
    for (const input of this.form.querySelectorAll<HTMLInputElement>("input")) {
      const value = found[input.name];
      if (input.type === "number") {
        input.placeholder = value === undefined ? "" : value.toFixed(0);
      } else if (input.dataset.free !== undefined && value !== undefined) {
        input.value = String(value);
        this.tell(input, value);
      }
    }
  }

  /** Another maneuver or airplane is another page, with the same day; another side is not. */
  private startChoosing(choose: HTMLFormElement): void {
    choose.querySelector("[name=side]")?.addEventListener("change", (event) => {
      this.form.dataset.side = (event.target as HTMLSelectElement).value;
      this.ask();
    });
    choose.addEventListener("submit", (event) => {
      event.preventDefault();
      const next = new URLSearchParams([...new FormData(choose)].map(([name, value]) => [name, String(value)]));
      const now = this.query();
      for (const name of DAY) if (now.has(name)) next.set(name, now.get(name)!);
      location.assign(`${choose.action.split("?")[0]}?${next}`);
    });
  }

  private sliders(): HTMLInputElement[] {
    return [...this.form.querySelectorAll<HTMLInputElement>("input[type=range]")];
  }

  private tell(input: HTMLInputElement, value = Number(input.value)): void {
    if (input.type !== "range") return;
    const free = input.dataset.free !== undefined;
    const decimals = Number(input.dataset.decimals ?? "0");
    const said = value.toLocaleString("en-US", { minimumFractionDigits: decimals, maximumFractionDigits: decimals });
    const text = `${said}${input.dataset.suffix ?? ""}`;
    const output = this.form.querySelector<HTMLOutputElement>(`[data-of="${input.name}"]`);
    if (output) output.textContent = text;
    input.setAttribute("aria-valuetext", text);
    const back = this.form.querySelector<HTMLElement>(`[data-let="${input.name}"]`);
    if (back) back.hidden = free;
  }

  private free(button: HTMLButtonElement): void {
    const input = this.form.querySelector<HTMLInputElement>(`input[name="${button.dataset.let}"]`);
    if (!input) return;
    input.dataset.free = "";
    input.focus();
    this.ask();
  }
}
