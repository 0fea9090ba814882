// What was flown, as columns over time; the plan beside it. Read once from the page.

export interface Part {
  part: number;
  first: number;
  last: number;
  sense: number;
}

export interface PlanPart {
  part: number;
  columns: Record<string, number[]>;
}

export interface Shown {
  title: string;
  suffix: string;
  decimals: number;
  signed: boolean;
}

interface Told {
  start_s: number;
  duration_s: number;
  clock: string | null;
  against: "heading" | "time";
  entry: Record<string, number>;
  parts: Part[];
  columns: Record<string, number[]>;
  plan: PlanPart[];
  points: { part: number; name: string; time_s: number }[];
  ground: { what: string; parts: number[]; ends: [number, number][] }[];
  quantities: Record<string, Shown>;
  /** What lies beside it, where that is no plan. */
  beside?: string;
}

const MINUS = "\u2212";

export class Flight {
  readonly times: Float64Array;

  private constructor(readonly told: Told) {
    this.times = Float64Array.from(this.told.columns.time_s ?? []);
  }

  /** From the text of the element that holds it in a page. */
  static read(text: string): Flight {
    return Flight.of(JSON.parse(text) as object);
  }

  static of(told: object): Flight {
    return new Flight(told as Told);
  }

  get duration(): number {
    return this.told.duration_s;
  }

  column(name: string): number[] | undefined {
    return this.told.columns[name];
  }

  /** The row at or before a time, by halving. Where one part joins the next, the later one's. */
  rowAt(time: number): number {
    let low = 0;
    let high = this.times.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if ((this.times[middle] as number) <= time) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  /** A column at a time, interpolated within its part. */
  at(name: string, time: number): number | undefined {
    const column = this.column(name);
    if (!column) return undefined;
    const row = this.rowAt(time);
    const next = Math.min(row + 1, column.length - 1);
    const span = (this.times[next] as number) - (this.times[row] as number);
    const share = span > 0 ? Math.min(1, Math.max(0, (time - (this.times[row] as number)) / span)) : 0;
    return (column[row] as number) * (1 - share) + (column[next] as number) * share;
  }

  partAt(time: number): Part {
    const row = this.rowAt(time);
    return this.told.parts.find((part) => row >= part.first && row <= part.last) ?? (this.told.parts[0] as Part);
  }

  /** The plan at the same place: the same heading change of the same part, or the same time. */
  planAt(name: string, time: number): number | undefined {
    const part = this.partAt(time);
    const plan = this.told.plan.find((each) => each.part === part.part);
    const along = this.told.against === "heading" ? "heading_change_deg" : "time_s";
    const place = along === "time_s" ? time : this.at("heading_change_deg", time);
    const places = plan?.columns[along];
    const values = plan?.columns[name];
    if (!places || !values || place === undefined) return undefined;
    return interpolated(places, values, place);
  }

  /** The time of the next point that way; the end where there is none. */
  nextPoint(now: number, way: 1 | -1): number {
    const times = this.told.points.map((point) => point.time_s).sort((a, b) => a - b);
    const found = way === 1 ? times.find((time) => time > now + 0.05) : [...times].reverse().find((time) => time < now - 0.05);
    return found ?? (way === 1 ? this.duration : 0);
  }

  /** A number as the page writes it, with a true minus sign. */
  written(name: string, value: number): string {
    const shown = this.told.quantities[name];
    const decimals = shown?.decimals ?? 0;
    const size = Math.abs(value).toLocaleString("en-US", {
      minimumFractionDigits: decimals,
      maximumFractionDigits: decimals,
    });
    const zero = Number(size.replaceAll(",", "")) === 0;
    const sign = zero ? "" : value < 0 ? MINUS : shown?.signed ? "+" : "";
    return `${sign}${size}${shown?.suffix ?? ""}`;
  }

  /** The time of day, where the recording has one; else seconds from the maneuver's start. */
  clock(time: number): string {
    const since = `${time.toFixed(1)} s`;
    if (this.told.clock === null) return since;
    const moment = new Date(Date.parse(this.told.clock) + 1000 * (this.told.start_s + time));
    return `${moment.toISOString().slice(11, 19)}, ${since}`;
  }
}

/** Places need not rise everywhere: the last row that is not beyond the place counts. */
function interpolated(places: number[], values: number[], place: number): number | undefined {
  const last = places.length - 1;
  if (last < 1) return values[0];
  if (place > (places[last] as number) + 3) return undefined;
  let row = 0;
  while (row < last - 1 && (places[row + 1] as number) <= place) row += 1;
  const span = (places[row + 1] as number) - (places[row] as number);
  const share = span > 0 ? Math.min(1, Math.max(0, (place - (places[row] as number)) / span)) : 0;
  return (values[row] as number) * (1 - share) + (values[row + 1] as number) * share;
}
