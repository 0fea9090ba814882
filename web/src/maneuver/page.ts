// One maneuver: one moment through all pictures, dragged along, flown through, or moved by keys.
import { Cursor } from "./cursor";
import { Flight } from "./flight";
import { FlyThrough } from "./flythrough";
import { startKeys } from "./keys";
import { Panels } from "./panels";
import { Places } from "./places";
import { startSeat } from "./seat";

export function startManeuver(root: HTMLElement): void {
  const flight = Flight.read(root.querySelector("[data-flown]")?.textContent ?? "{}");
  const cursor = new Cursor(flight.duration);
  const panels = new Panels(root, flight, cursor);
  const places = new Places(root, flight, cursor);
  const fly = new FlyThrough(root, flight, cursor);
  startSeat(root, flight, cursor);

  const look = (): void => {
    panels.look();
    places.look();
    cursor.tell();
  };
  addEventListener("resize", look);
  const more = root.querySelector<HTMLDetailsElement>("[data-more]");
  more?.addEventListener("toggle", look);
  const press = startSwitches(root, flight, cursor, look);

  startKeys(root, {
    by: (seconds) => cursor.move(cursor.now + seconds),
    point: (way) => cursor.move(flight.nextPoint(cursor.now, way)),
    to: (end) => cursor.move(end === "start" ? 0 : flight.duration),
    play: () => fly.toggle(),
    speed: (times) => fly.setSpeed(times),
    press,
    more: () => {
      if (more) more.open = !more.open;
    },
  });
  // A note's clock time leads here: seconds from the earliest row of the recordings.
  document.addEventListener("chalkwing:jump", (event) => {
    cursor.move((event as CustomEvent<number>).detail - flight.told.start_s);
  });
  cursor.follow((time) => {
    root.dataset.moment = (flight.told.start_s + time).toFixed(2);
  });
  cursor.tell();
}

/** Two-way buttons: against time or heading, air or ground, three dimensions. */
function startSwitches(root: HTMLElement, flight: Flight, cursor: Cursor, look: () => void): (key: string) => void {
  const turn: Record<string, (on: boolean) => void> = {
    time: (on) => choose(root, "[data-along]", (each) => each.dataset.along === (on ? "time" : "heading")),
    air: (on) => choose(root, "[data-frame]", (each) => each.dataset.frame === (on ? "air" : "ground")),
    solid: (on) => void showSolid(root, flight, cursor, on),
  };
  const press = (key: string): void => {
    const button = root.querySelector<HTMLButtonElement>(`button[data-key="${key}"]`);
    const turning = turn[key];
    if (!button || !turning) return;
    const on = button.getAttribute("aria-pressed") !== "true";
    button.setAttribute("aria-pressed", String(on));
    turning(on);
    look();
  };
  for (const key of Object.keys(turn)) {
    const button = root.querySelector<HTMLButtonElement>(`button[data-key="${key}"]`);
    button?.removeAttribute("hidden");
    button?.addEventListener("click", () => press(key));
  }
  return press;
}

function choose(root: HTMLElement, these: string, wanted: (each: HTMLElement) => boolean): void {
  const all = [...root.querySelectorAll<HTMLElement>(`div${these}`)];
  for (const figure of new Set(all.map((each) => each.parentElement))) {
    const own = all.filter((each) => each.parentElement === figure);
    if (own.some(wanted)) for (const each of own) each.hidden = !wanted(each);
  }
}

const solids = new WeakMap<HTMLElement, Promise<{ show(on: boolean): void }>>();

async function showSolid(root: HTMLElement, flight: Flight, cursor: Cursor, on: boolean): Promise<void> {
  const place = root.querySelector<HTMLElement>("[data-solid]");
  if (!place) return;
  root.querySelector("[data-solid-part]")?.toggleAttribute("hidden", !on);
  const solid = solids.get(root) ?? import("./solid").then((module) => module.startSolid(place, flight, cursor));
  solids.set(root, solid);
  try {
    (await solid).show(on);
  } catch {
    place.textContent = "This browser cannot draw in three dimensions.";
  }
}
