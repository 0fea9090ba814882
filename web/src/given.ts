// What was given for a maneuver: assigned values, and what it was flown by on the ground.
import { change, type Table } from "./changing";
import { asked } from "./dialogs";

type Place = [number, number];

export interface Given {
  assigned: Record<string, number>;
  ground: {
    key: string;
    what: string;
    least: number;
    most: number;
    given: Place[];
    found: Place[];
    elevation_ft: number | null;
    touchdown: boolean;
  } | null;
}

const ASSIGNED = ["altitude_ft", "airspeed_kt", "heading_deg_magnetic", "bank_deg"];
const ON_THE_GROUND = ["elevation_ft", "touchdown_beyond_ft"];

// Asks what was given and keeps it; `which` names the maneuver. False when put aside, or nothing was changed.
export async function give(lesson: string, title: string, which: Table, given: Given): Promise<boolean> {
  const dialog = document.querySelector<HTMLDialogElement>("#given")!;
  fill(dialog, title, given);
  let kept = false;
  await asked(dialog, async (form) => {
    const tables = [assigned(form, which, given), ground(form, which, given)].filter((each) => each !== null);
    if (tables.length) kept = await change(lesson, ...tables);
  });
  return kept;
}

function fill(dialog: HTMLDialogElement, title: string, given: Given): void {
  dialog.querySelector("form")!.reset();
  dialog.querySelector("#given-title")!.textContent = `What was given for ${title}`;
  for (const name of ASSIGNED) field(dialog, name).value = String(given.assigned[name] ?? "");
  const by = given.ground;
  dialog.querySelector<HTMLElement>("[data-ground]")!.hidden = by === null;
  if (by === null) return;
  dialog.querySelector("[data-what]")!.textContent = by.what;
  dialog.querySelector<HTMLElement>("[data-touchdown]")!.hidden = !by.touchdown;
  const places = dialog.querySelector<HTMLTextAreaElement>('[name="places"]')!;
  places.value = written(by.given);
  field(dialog, "elevation_ft").value = String(by.elevation_ft ?? "");
  const begin = dialog.querySelector<HTMLButtonElement>('[data-do="found"]')!;
  begin.hidden = by.found.length === 0;
  begin.onclick = () => {
    places.value = written(by.found);
    places.focus();
  };
}

function field(dialog: HTMLElement, name: string): HTMLInputElement {
  return dialog.querySelector<HTMLInputElement>(`[name="${name}"]`)!;
}

function written(places: readonly Place[]): string {
  return places.map((each) => each.join(", ")).join("\n");
}

function numbers(form: FormData, names: readonly string[]): Record<string, number> {
  const typed = names.map((name) => [name, String(form.get(name) ?? "").trim()] as const);
  return Object.fromEntries(typed.filter(([, text]) => text !== "").map(([name, text]) => [name, Number(text)]));
}

function why(form: FormData): string | null {
  return String(form.get("why") ?? "").trim() || null;
}

function assigned(form: FormData, which: Table, given: Given): Table | null {
  const values = numbers(form, ASSIGNED);
  const same = ASSIGNED.every((name) => values[name] === given.assigned[name]);
  if (same || Object.keys(values).length === 0) return null;
  return { act: "assign", ...which, ...values, why: why(form) };
}

function ground(form: FormData, which: Table, given: Given): Table | null {
  const by = given.ground;
  if (by === null) return null;
  const values = numbers(form, ON_THE_GROUND);
  const places = read(String(form.get("places") ?? ""));
  const same = written(places) === written(by.given) && values.elevation_ft === (by.elevation_ft ?? undefined);
  if ((same && values.touchdown_beyond_ft === undefined) || places.length === 0) return null;
  if (places.length < by.least || places.length > by.most) {
    const wanted = by.least === by.most ? `${by.least}` : `${by.least} or more`;
    throw new Error(`${by.what}: ${wanted} ${by.most === 1 ? "place is" : "places are"} needed, not ${places.length}.`);
  }
  return { act: "ground", ...which, [by.key]: places, ...values, why: why(form) };
}

function read(text: string): Place[] {
  const lines = text.split(/[\n;]/).map((each) => each.trim());
  return lines.filter((each) => each !== "").map((line, k) => {
    const parts = /^([+-]?\d+(?:\.\d+)?)\s*°?[\s,]+([+-]?\d+(?:\.\d+)?)\s*°?$/.exec(line);
    if (!parts) throw new Error(`Place ${k + 1} is no latitude, longitude in degrees such as 41.20345, -41.70123.`);
    return [Number(parts[1]), Number(parts[2])];
  });
}
