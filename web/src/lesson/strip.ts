// What lies over the strip: a span for each maneuver, ends that can be moved, and a stretch being chosen.

export interface Span {
  number: number;
  title: string;
  start: number;
  end: number;
}

type End = "start" | "end";
const SHORTEST = 5;

export class Strip {
  private readonly layer = document.querySelector<HTMLElement>("#strip-layer");
  private readonly picture = document.querySelector<SVGSVGElement>("#strip svg");
  private readonly scale: Scale | null;
  private ends: HTMLElement[] = [];
  private chosen: Span | undefined;

  constructor(
    private readonly spans: readonly Span[],
    chosen: number,
    private readonly moved: (end: End, seconds: number) => void,
    private readonly dragged: (start: number, end: number) => void,
    private readonly picked: (number: number) => void,
  ) {
    this.scale = this.picture ? scaleOf(this.picture) : null;
    if (!this.layer || !this.scale) return;
    this.layer.replaceChildren(...spans.map((each) => this.spanMark(each)));
    this.layer.addEventListener("pointerdown", (event) => this.sweep(event));
    this.choose(chosen);
  }

  choose(number: number): void {
    this.chosen = this.spans.find((each) => each.number === number);
    for (const each of this.ends) each.remove();
    this.ends = [];
    if (!this.layer || !this.scale) return;
    for (const mark of this.layer.querySelectorAll<HTMLElement>(".span")) {
      mark.classList.toggle("chosen", Number(mark.dataset.number) === number);
    }
    if (!this.chosen) return;
    this.ends = [this.endMark("start", this.chosen), this.endMark("end", this.chosen)];
    this.layer.append(...this.ends);
  }

  private spanMark(span: Span): HTMLElement {
    const mark = document.createElement("div");
    mark.className = "span";
    mark.dataset.number = String(span.number);
    this.place(mark, span.start, span.end);
    mark.addEventListener("click", () => this.picked(span.number));
    return mark;
  }

  private place(mark: HTMLElement, start: number, end: number): void {
    mark.style.left = `${this.scale!.share(start)}%`;
    mark.style.width = `${this.scale!.share(end) - this.scale!.share(start)}%`;
  }

  // An end of the chosen span: a slider for keys, a handle for the pointer.
  private endMark(end: End, span: Span): HTMLElement {
    const mark = document.createElement("div");
    const other = end === "start" ? span.end : span.start;
    let at = span[end];
    const show = (): void => {
      mark.style.left = `${this.scale!.share(at)}%`;
      mark.setAttribute("aria-valuenow", at.toFixed(0));
      mark.setAttribute("aria-valuetext", `${clock(at)}, ${(at - span[end]).toFixed(0)} s from where it was`);
      const span_ = this.layer!.querySelector<HTMLElement>(`.span[data-number="${span.number}"]`);
      if (span_) this.place(span_, Math.min(at, other), Math.max(at, other));
    };
    const move = (to: number): void => {
      const [low, high] = end === "start" ? [this.scale!.low, other - SHORTEST] : [other + SHORTEST, this.scale!.high];
      at = Math.min(Math.max(to, low), high);
      show();
    };
    // Once for each place: the mark also loses the focus when the page takes it away.
    let told = at;
    const settle = (): void => {
      if (Math.abs(at - told) < 0.5) return;
      told = at;
      this.moved(end, at);
    };
    mark.className = `end ${end}`;
    mark.tabIndex = 0;
    mark.setAttribute("role", "slider");
    mark.setAttribute("aria-label", `${end === "start" ? "Start" : "End"} of ${span.number} ${span.title}`);
    mark.setAttribute("aria-valuemin", this.scale!.low.toFixed(0));
    mark.setAttribute("aria-valuemax", this.scale!.high.toFixed(0));
    mark.addEventListener("keydown", (event) => {
      const by = { ArrowLeft: -1, ArrowRight: 1, ArrowDown: -1, ArrowUp: 1 }[event.key];
      if (by) move(at + by * (event.shiftKey ? 10 : 1));
      else if (event.key === "Enter") settle();
      else if (event.key === "Escape") move(span[end]);
      else return;
      event.preventDefault();
    });
    mark.addEventListener("blur", settle);
    mark.addEventListener("pointerdown", (event) => {
      event.stopPropagation();
      mark.setPointerCapture(event.pointerId);
      const off = at - this.secondsAt(event);
      const drag = (each: PointerEvent): void => move(this.secondsAt(each) + off);
      mark.addEventListener("pointermove", drag);
      mark.addEventListener(
        "pointerup",
        () => {
          mark.removeEventListener("pointermove", drag);
          settle();
        },
        { once: true },
      );
    });
    show();
    return mark;
  }

  // A stretch chosen by dragging over the strip, where no maneuver is.
  private sweep(event: PointerEvent): void {
    if (event.target !== this.layer || event.button !== 0) return;
    const from = this.secondsAt(event);
    const mark = document.createElement("div");
    mark.className = "sweep";
    this.layer!.append(mark);
    this.layer!.setPointerCapture(event.pointerId);
    let to = from;
    const drag = (each: PointerEvent): void => {
      to = this.secondsAt(each);
      this.place(mark, Math.min(from, to), Math.max(from, to));
    };
    this.layer!.addEventListener("pointermove", drag);
    this.layer!.addEventListener(
      "pointerup",
      () => {
        this.layer!.removeEventListener("pointermove", drag);
        mark.remove();
        if (Math.abs(to - from) >= SHORTEST) this.dragged(Math.min(from, to), Math.max(from, to));
      },
      { once: true },
    );
  }

  private secondsAt(event: PointerEvent): number {
    const box = this.layer!.getBoundingClientRect();
    return this.scale!.seconds((100 * (event.clientX - box.left)) / box.width);
  }
}

// Seconds by their place in hundredths of the picture's width, as the picture says of itself.
class Scale {
  constructor(
    readonly low: number,
    readonly high: number,
    private readonly first: number,
    private readonly last: number,
  ) {}

  share(seconds: number): number {
    return this.first + ((seconds - this.low) / (this.high - this.low)) * (this.last - this.first);
  }

  seconds(share: number): number {
    const at = this.low + ((share - this.first) / (this.last - this.first)) * (this.high - this.low);
    return Math.min(Math.max(at, this.low), this.high);
  }
}

function scaleOf(picture: SVGSVGElement): Scale | null {
  const data = picture.querySelector<SVGGElement>("g.story")?.dataset;
  if (!data) return null;
  const wide = picture.viewBox.baseVal.width / 100;
  return new Scale(
    Number(data.xLow),
    Number(data.xHigh),
    Number(data.xStart) / wide,
    Number(data.xEnd) / wide,
  );
}

function clock(seconds: number): string {
  const start = document.querySelector<HTMLElement>("#lesson")?.dataset.startUtc;
  if (!start) return `${seconds.toFixed(0)} s`;
  return new Date(Date.parse(start) + 1000 * seconds).toISOString().slice(11, 19);
}
