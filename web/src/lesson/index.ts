// The lesson: its list and its strip, with keys and pointer, and what is corrected there.
import { announce, change, refresh, type Table } from "../changing";
import { asked } from "../dialogs";
import { give, type Given } from "../given";
import { note } from "../notes";
import { startWho } from "../who";
import { Strip, type Span } from "./strip";

const FLOWN: Record<string, string> = { s: "student", i: "instructor", b: "shared", u: "unknown" };
const lesson = document.querySelector<HTMLElement>("#lesson")!.dataset.lesson!;
let chosen = 1;
let strip = new Strip(spans(), chosen, moved, dragged, choose);

startWho();
document.addEventListener("keydown", onKey);
document.addEventListener("click", onClick);
document.addEventListener("focusin", (event) => {
  const target = event.target as Element;
  const row = target.closest<HTMLElement>("#maneuvers > li");
  // Not under the pointer: the list would move between its press and its release, and the click be lost.
  if (row && target.matches(":focus-visible")) choose(Number(row.dataset.number), false);
});
choose(chosen, false);

function rows(): HTMLElement[] {
  return [...document.querySelectorAll<HTMLElement>("#maneuvers > li")];
}

function row(number = chosen): HTMLElement | undefined {
  return rows().find((each) => Number(each.dataset.number) === number);
}

function spans(): Span[] {
  return rows().map((each) => ({
    number: Number(each.dataset.number),
    title: each.dataset.title ?? "",
    start: Number(each.dataset.start),
    end: Number(each.dataset.end),
  }));
}

function choose(number: number, focus = true): void {
  chosen = number;
  for (const each of rows()) each.classList.toggle("chosen", each === row());
  strip.choose(number);
  if (focus) row()?.querySelector<HTMLElement>(".line-link")?.focus();
}

function onKey(event: KeyboardEvent): void {
  const target = event.target as HTMLElement;
  // Letters act only on a maneuver of the list, so that nobody who speaks or slips sets anything.
  if (!target.closest("#maneuvers > li") || event.ctrlKey || event.metaKey || event.altKey) return;
  const act = actOf(event.key);
  if (!act) return;
  event.preventDefault();
  act();
}

function actOf(key: string): (() => void) | undefined {
  if (FLOWN[key]) return () => void flown(FLOWN[key]!);
  switch (key) {
    case "ArrowDown":
      return () => step(1);
    case "ArrowUp":
      return () => step(-1);
    case "c":
      return () => void correct();
    case "g":
      return () => void given();
    case "n":
      return () => void write();
    case "a":
      return () => void add();
    case "z":
      return () => void undo();
    case "?":
      return () => void asked(document.querySelector<HTMLDialogElement>("#keys")!);
    default:
      return undefined;
  }
}

function step(by: number): void {
  const next = row(chosen + by);
  if (next) choose(chosen + by);
}

function onClick(event: MouseEvent): void {
  const target = event.target as Element;
  const mine = target.closest<HTMLElement>("#maneuvers > li");
  if (mine) choose(Number(mine.dataset.number), false);
  const button = target.closest<HTMLButtonElement>("button");
  if (!button) return;
  if (button.dataset.flown) void flown(button.dataset.flown);
  else if (button.dataset.undo) void undo(Number(button.dataset.undo));
  else if (button.dataset.redo) void undo(Number(button.dataset.redo));
  else if (button.dataset.do === "correct") void correct();
  else if (button.dataset.do === "give") void given();
  else if (button.dataset.do === "note") void write();
  else if (button.dataset.do === "add") void add();
  else if (button.dataset.do === "keys") actOf("?")!();
}

// --- Changes ---

function which(): Table {
  const mine = row()!;
  return { kind: mine.dataset.kind!, at_s: Number(mine.dataset.start) };
}

async function keep(...tables: Table[]): Promise<void> {
  try {
    await shown((await change(lesson, ...tables)) ? undefined : "");
  } catch (error) {
    await shown("");
    announce((error as Error).message);
  }
}

async function shown(said = "Judged again with the change."): Promise<void> {
  await refresh("#lesson");
  strip = new Strip(spans(), chosen, moved, dragged, choose);
  choose(Math.max(1, Math.min(chosen, rows().length)), rows().length > 0);
  announce(said);
}

function flown(by: string): Promise<void> {
  // Shown before it is judged: a key must answer at once. What the server says comes over it.
  for (const each of row()!.querySelectorAll<HTMLElement>("[data-flown]")) {
    each.setAttribute("aria-pressed", String(each.dataset.flown === by));
  }
  return keep({ act: "label", ...which(), flown_by: by });
}

async function undo(number?: number): Promise<void> {
  const last = number ?? Number(document.querySelector<HTMLElement>("[data-undo]")?.dataset.undo);
  if (last) await keep({ act: "undo", undoes: last });
}

async function write(): Promise<void> {
  const mine = row()!;
  if (await note(lesson, Number(mine.dataset.at), mine.dataset.kind ?? null)) await shown();
}

async function given(): Promise<void> {
  const mine = row()!;
  const form = JSON.parse(mine.dataset.given!) as Given;
  if (await give(lesson, `${mine.dataset.number} ${mine.dataset.title}`, which(), form)) await shown();
}

async function correct(): Promise<void> {
  const mine = row()!;
  const [kind, start, end] = [mine.dataset.kind!, clocked(mine.dataset.start!), clocked(mine.dataset.end!)];
  const filled = { title: `Correct ${mine.dataset.number} ${mine.dataset.title}`, kind, start, end };
  await times(filled, true, (form) => {
    const why = text(form, "why") || null;
    const made: Table[] = [];
    const ends: Table = {
      ...(text(form, "start") === start ? {} : moment("start", text(form, "start"))),
      ...(text(form, "end") === end ? {} : moment("end", text(form, "end"))),
    };
    if (Object.keys(ends).length) made.push({ act: "trim", ...which(), ...ends, why });
    if (text(form, "kind") !== kind) made.push({ act: "rename", ...which(), to: text(form, "kind"), why });
    return made;
  });
}

async function add(start = "", end = ""): Promise<void> {
  await times({ title: "Add a maneuver", kind: null, start, end }, false, (form) => [
    {
      act: "add",
      kind: text(form, "kind"),
      ...moment("start", text(form, "start")),
      ...moment("end", text(form, "end")),
      why: text(form, "why") || null,
    },
  ]);
}

interface Filled {
  title: string;
  kind: string | null;
  start: string;
  end: string;
}

async function times(filled: Filled, found: boolean, made: (form: FormData) => Table[]): Promise<void> {
  const dialog = document.querySelector<HTMLDialogElement>("#correct")!;
  const field = (name: string): HTMLInputElement => dialog.querySelector(`[name="${name}"]`)!;
  dialog.querySelector("h2")!.textContent = filled.title;
  if (filled.kind) field("kind").value = filled.kind;
  field("start").value = filled.start;
  field("end").value = filled.end;
  field("why").value = "";
  const none = dialog.querySelector<HTMLButtonElement>('[data-do="drop"]')!;
  none.hidden = !found;
  let dropped = false;
  none.onclick = () => {
    dropped = true;
    dialog.querySelector("form")!.requestSubmit();
  };
  let kept = false;
  await asked(dialog, async (form) => {
    const why = text(form, "why") || null;
    const tables = dropped ? [{ act: "drop", ...which(), why }] : made(form);
    dropped = false;
    if (tables.length) kept = await change(lesson, ...tables);
  });
  if (kept) await shown();
}

function text(form: FormData, name: string): string {
  return String(form.get(name) ?? "").trim();
}

// Seconds where only a number was typed, else a clock time.
function moment(key: string, typed: string): Table {
  const seconds = /^(\d+(?:\.\d+)?)\s*s?$/.exec(typed);
  return seconds ? { [`${key}_s`]: Number(seconds[1]) } : { [key]: typed };
}

// As the page tells times: by the clock where the recording has one.
function clocked(seconds: string | number): string {
  const start = document.querySelector<HTMLElement>("#lesson")!.dataset.startUtc;
  if (!start) return `${Math.round(Number(seconds))}`;
  return new Date(Date.parse(start) + 1000 * Math.round(Number(seconds))).toISOString().slice(11, 19);
}

// --- The strip ---

function moved(end: "start" | "end", seconds: number): void {
  void keep({ act: "trim", ...which(), [`${end}_s`]: Math.round(10 * seconds) / 10 });
}

function dragged(start: number, end: number): void {
  void add(clocked(start), clocked(end));
}
