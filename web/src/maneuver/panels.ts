// The hairline in every panel, with its values in the margin, and dragging along.
import type { Cursor } from "./cursor";
import type { Flight } from "./flight";
import { inside, isSeen, number, piece } from "./svg";

type Along = "nose" | "heading" | "time";
const COLUMN: Record<Along, string> = { nose: "nose_deg", heading: "heading_change_deg", time: "time_s" };
/** From this width of a picture there is room for the plan's value too. */
const ROOMY = 450;
/** Seconds to either side in which the nose path is followed while dragging. */
const LEASH_S = 8;

class Panel {
  readonly svg: SVGSVGElement;
  readonly along: Along;
  readonly xs: Float64Array;
  readonly ys: Float64Array;
  readonly upper: number;
  readonly lower: number;
  private readonly quantity: string;
  private readonly hair: SVGGElement;
  private readonly value: SVGTextElement;
  private readonly bead: SVGCircleElement;
  private readonly margin: number;

  constructor(group: SVGGElement, private readonly flight: Flight) {
    this.svg = group.ownerSVGElement as SVGSVGElement;
    this.quantity = group.dataset.quantity ?? "";
    this.along = (group.dataset.along ?? "time") as Along;
    this.xs = places(flight.column(COLUMN[this.along]), group, "x");
    this.ys = places(flight.column(this.quantity), group, "y");
    this.upper = number(group, "top");
    this.lower = number(group, "yStart");
    this.margin = number(group, "xEnd");
    this.hair = piece("g", { class: "hair" });
    this.hair.append(piece("line", { x1: 0, x2: 0, y1: this.upper, y2: this.lower }));
    this.bead = piece("circle", { r: 4.5 });
    this.hair.append(this.bead);
    this.value = piece("text", { class: "hair-value" });
    if (this.along !== "nose") {
      this.value.setAttribute("x", String(number(group, "valueX")));
      this.value.setAttribute("y", String(number(group, "valueY")));
    }
    group.append(this.hair, this.value);
  }

  show(time: number): void {
    const row = this.flight.rowAt(time);
    const next = Math.min(row + 1, this.xs.length - 1);
    const span = (this.flight.times[next] as number) - (this.flight.times[row] as number);
    const share = span > 0 ? (time - (this.flight.times[row] as number)) / span : 0;
    const x = (this.xs[row] as number) * (1 - share) + (this.xs[next] as number) * share;
    const y = (this.ys[row] as number) * (1 - share) + (this.ys[next] as number) * share;
    this.hair.setAttribute("transform", `translate(${x.toFixed(2)} 0)`);
    this.bead.setAttribute("cy", y.toFixed(2));
    this.value.textContent = this.said(time);
    if (this.along === "nose") this.besideHair(x);
  }

  private said(time: number): string {
    const flown = this.flight.at(this.quantity, time);
    const planned = this.flight.planAt(this.quantity, time);
    if (flown !== undefined && this.svg.viewBox.baseVal.width < ROOMY) return this.flight.written(this.quantity, flown);
    const said = flown === undefined ? "" : this.flight.written(this.quantity, flown);
    return planned === undefined ? said : `${said} (${this.flight.told.beside ?? "plan"} ${this.flight.written(this.quantity, planned)})`;
  }

  private besideHair(x: number): void {
    const right = x > 0.62 * this.margin;
    this.value.setAttribute("x", String(x + (right ? -7 : 7)));
    this.value.setAttribute("y", String(this.lower - 6));
    this.value.setAttribute("text-anchor", right ? "end" : "start");
  }

  /** The row nearest to a place, among rows ``first`` to ``last``; beside each other counts more than above. */
  nearest(x: number, y: number | null, first: number, last: number): number {
    let best = first;
    let least = Infinity;
    for (let row = first; row <= last; row += 1) {
      const across = (this.xs[row] as number) - x;
      const up = y === null ? 0 : 0.6 * ((this.ys[row] as number) - y);
      const far = across * across + up * up;
      if (far < least) {
        least = far;
        best = row;
      }
    }
    return best;
  }
}

function places(column: number[] | undefined, group: SVGGElement, axis: "x" | "y"): Float64Array {
  const [low, high, start, end] = ["Low", "High", "Start", "End"].map((key) => number(group, axis + key)) as [
    number, number, number, number,
  ];
  return Float64Array.from(column ?? [], (value) => start + ((value - low) / (high - low)) * (end - start));
}

export class Panels {
  private readonly panels: Panel[];
  private seen: Panel[] = [];

  constructor(root: HTMLElement, private readonly flight: Flight, private readonly cursor: Cursor) {
    this.panels = [...root.querySelectorAll<SVGGElement>("g.panel")].map((group) => new Panel(group, flight));
    for (const figure of root.querySelectorAll<HTMLElement>("figure.draggable")) this.drag(figure);
    cursor.follow((time) => this.seen.forEach((panel) => panel.show(time)));
    this.look();
  }

  /** Only pictures that are on the page now follow the cursor. */
  look(): void {
    this.seen = this.panels.filter((panel) => isSeen(panel.svg));
  }

  private drag(figure: HTMLElement): void {
    let held: { panel: Panel; first: number; last: number } | null = null;
    figure.addEventListener("pointerdown", (event) => {
      const svg = (event.target as Element).closest("svg");
      if (!svg || event.button !== 0) return;
      const [x, y] = inside(svg, event);
      const panel = this.under(svg, y);
      if (!panel) return;
      const row = panel.nearest(x, y, 0, panel.xs.length - 1);
      const part = this.flight.partAt(this.flight.times[row] as number);
      held = panel.along === "time" ? { panel, first: 0, last: panel.xs.length - 1 } : { panel, ...part };
      figure.setPointerCapture(event.pointerId);
      this.cursor.move(this.flight.times[row] as number);
      event.preventDefault();
    });
    figure.addEventListener("pointermove", (event) => {
      if (!held) return;
      const [x, y] = inside(held.panel.svg, event);
      const row =
        held.panel.along === "nose" ? this.followed(held.panel, x, y) : held.panel.nearest(x, null, held.first, held.last);
      this.cursor.move(this.flight.times[row] as number);
    });
    for (const end of ["pointerup", "pointercancel"]) figure.addEventListener(end, () => (held = null));
  }

  /** Along the nose path the pointer is followed from where it was, so that it goes round the far end. */
  private followed(panel: Panel, x: number, y: number): number {
    const first = this.flight.rowAt(this.cursor.now - LEASH_S);
    return panel.nearest(x, y, first, this.flight.rowAt(this.cursor.now + LEASH_S));
  }

  private under(svg: SVGSVGElement, y: number): Panel | undefined {
    const these = this.seen.filter((panel) => panel.svg === svg);
    return these.find((panel) => y >= panel.upper && y <= panel.lower + 12) ?? these[0];
  }
}
