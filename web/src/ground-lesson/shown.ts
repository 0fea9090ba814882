// The plan on the page: its pictures follow one moment, which outlives the plan.
import { Cursor } from "../maneuver/cursor";
import { Flight } from "../maneuver/flight";
import { FlyThrough } from "../maneuver/flythrough";
import { Panels } from "../maneuver/panels";
import { Places } from "../maneuver/places";
import { startSeat } from "../maneuver/seat";
import type { Plan } from "./planner";

interface Now {
  flight: Flight;
  cursor: Cursor;
  fly: FlyThrough;
  panels: Panels;
  places: Places;
}

export class Shown {
  private now: Now | null = null;
  private times = 1;

  constructor(private readonly root: HTMLElement, private readonly follow: (time: number) => void) {
    addEventListener("resize", () => {
      this.now?.panels.look();
      this.now?.places.look();
      this.now?.cursor.tell();
    });
    root.addEventListener("click", (event) => {
      const button = (event.target as Element).closest<HTMLElement>("[data-speed]");
      if (button) this.times = Number(button.dataset.speed);
    });
  }

  put(plan: Plan): void {
    const before = this.now;
    const playing = before?.fly.playing ?? false;
    before?.fly.stop();
    this.now = null;
    if (!plan.flown) return;
    const { root } = this;
    const flight = Flight.of(plan.flown);
    const cursor = new Cursor(flight.duration);
    const panels = new Panels(root, flight, cursor);
    const places = new Places(root, flight, cursor);
    const fly = new FlyThrough(root, flight, cursor);
    startSeat(root, flight, cursor);
    cursor.follow(this.follow);
    this.now = { flight, cursor, fly, panels, places };
    fly.setSpeed(this.times);
    cursor.set(Math.min(flight.duration, before?.cursor.now ?? 0));
    cursor.tell();
    if (playing) fly.toggle();
  }

  to(time: number): void {
    this.now?.cursor.move(time);
  }

  by(seconds: number): void {
    if (this.now) this.to(this.now.cursor.now + seconds);
  }

  point(way: 1 | -1): void {
    if (this.now) this.to(this.now.flight.nextPoint(this.now.cursor.now, way));
  }

  end(end: "start" | "end"): void {
    if (this.now) this.to(end === "start" ? 0 : this.now.flight.duration);
  }

  play(): void {
    this.now?.fly.toggle();
  }

  speed(times: number): void {
    this.times = times;
    this.now?.fly.setSpeed(times);
  }
}
