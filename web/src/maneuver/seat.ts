// The view from the seat: the horizon turns against the bank and sinks as the nose rises.
import type { Cursor } from "./cursor";
import type { Flight } from "./flight";
import { number } from "./svg";

export function startSeat(root: HTMLElement, flight: Flight, cursor: Cursor): void {
  const world = root.querySelector<SVGGElement>("g.seat-world");
  const plan = root.querySelector<SVGGElement>("g.seat-plan");
  if (!world || !plan) return;
  cursor.follow((time) => {
    const bank = flight.at("bank_deg", time) ?? 0;
    const nose = flight.at("nose_right_deg", time) ?? 0;
    turn(world, bank, flight.at("pitch_from_level_deg", time) ?? 0, nose);
    const into = flight.planAt("bank_into_turn_deg", time);
    const pitch = flight.planAt("pitch_from_level_deg", time);
    plan.toggleAttribute("hidden", into === undefined || pitch === undefined);
    if (into !== undefined && pitch !== undefined) turn(plan, side(flight, time) * into, pitch, nose);
  });
}

/** +1 where this part turns right. */
function side(flight: Flight, time: number): number {
  const into = flight.at("bank_into_turn_deg", time) ?? 0;
  const bank = flight.at("bank_deg", time) ?? 0;
  return into * bank < 0 ? -1 : 1;
}

function turn(group: SVGGElement, bank: number, pitch: number, nose: number): void {
  const [x, y, pixel] = [number(group, "x"), number(group, "y"), number(group, "pixel")];
  const shift = `translate(${(-nose * pixel - x).toFixed(2)} ${(pitch * pixel - y).toFixed(2)})`;
  group.setAttribute("transform", `translate(${x} ${y}) rotate(${(-bank).toFixed(2)}) ${shift}`);
}
