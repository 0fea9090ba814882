// What people lay beside a maneuver: notes on its moments, and verdicts of their own with a reason.
import { announce, change } from "../changing";
import { asked } from "../dialogs";
import { give, type Given } from "../given";
import { note } from "../notes";
import { startWho } from "../who";

interface Override {
  element: string;
  half: number | null;
  verdict: "met" | "not_met" | "cannot_tell";
  by: string;
  why: string;
}

interface Note {
  at_s: number;
  clock: string;
  text: string;
  by: string;
}

interface Beside {
  lesson: string;
  kind: string;
  at_s: number;
  start_s: number;
  overrides: Override[];
  notes: Note[];
  title: string;
  given: Given;
  given_said: string[];
}

const WORDS = { met: "met", not_met: "not met", cannot_tell: "cannot tell" };
const beside = JSON.parse(document.querySelector("#beside")!.textContent!) as Beside;

startWho();
showOverrides();
showNotes();
showGiven();
document.addEventListener("keydown", (event) => {
  const target = event.target as HTMLElement;
  if (target.closest("input, select, textarea, dialog") || event.ctrlKey || event.metaKey || event.altKey) return;
  const row = target.closest<HTMLElement>("tr[data-element]");
  if (event.key === "v" && row) void override(row);
});

// --- Verdicts ---

function showOverrides(): void {
  for (const row of document.querySelectorAll<HTMLElement>("tr[data-element]")) {
    const place = row.querySelector<HTMLElement>("[data-override]");
    if (!place) continue;
    const set = beside.overrides.find((each) => each.element === row.dataset.element && each.half === halfOf(row));
    place.replaceChildren(...(set ? told(set) : []), opener(row));
  }
}

function told(set: Override): Node[] {
  const ring = document.createElement("span");
  ring.className = `ring ring-${set.verdict}`;
  ring.setAttribute("aria-hidden", "true");
  const said = document.createElement("span");
  said.className = "override-said";
  said.append(ring, `${WORDS[set.verdict]}, says ${set.by}: ${set.why}`);
  return [said];
}

function opener(row: HTMLElement): HTMLElement {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  button.textContent = "Yours";
  button.title = "Set a verdict of your own (v)";
  button.setAttribute("aria-label", `Yours for ${titleOf(row)}`);
  button.addEventListener("click", () => void override(row));
  return button;
}

function titleOf(row: HTMLElement): string {
  return (row.querySelector("th summary, th")?.textContent ?? "").trim().replace(/\s+/g, " ");
}

function halfOf(row: HTMLElement): number | null {
  return row.dataset.half ? Number(row.dataset.half) : null;
}

async function override(row: HTMLElement): Promise<void> {
  const dialog = document.querySelector<HTMLDialogElement>("#override")!;
  dialog.querySelector("form")!.reset();
  dialog.querySelector("#override-what")!.textContent = titleOf(row);
  let kept = false;
  await asked(dialog, async (form) => {
    kept = await change(beside.lesson, {
      act: "override",
      kind: beside.kind,
      at_s: beside.at_s,
      element: row.dataset.element!,
      half: halfOf(row),
      verdict: String(form.get("verdict")),
      why: String(form.get("why")).trim(),
    });
  });
  if (kept) await again(`Your verdict stands beside the computed one.`);
}

// --- What was given ---

function showGiven(): void {
  const head = document.querySelector(".maneuver-head");
  head?.append(
    ...beside.given_said.map((said) => {
      const line = document.createElement("p");
      line.className = "soft";
      line.textContent = said;
      return line;
    }),
  );
  const button = document.querySelector<HTMLButtonElement>("#give");
  if (!button) return;
  button.hidden = false;
  button.addEventListener("click", () => void giveIt());
}

async function giveIt(): Promise<void> {
  const which = { kind: beside.kind, at_s: beside.at_s };
  // Every number of the page may be another now.
  if (await give(beside.lesson, beside.title, which, beside.given)) location.reload();
}

// --- Notes ---

function showNotes(): void {
  const place = document.querySelector<HTMLElement>("[data-notes]");
  if (!place) return;
  place.hidden = false;
  const list = document.createElement("ul");
  list.className = "plain";
  list.append(...beside.notes.map(noteItem));
  const write = document.createElement("button");
  write.type = "button";
  write.textContent = "Write a note on this moment";
  write.addEventListener("click", () => void writeNote());
  place.querySelector(".notes-written")?.remove();
  const all = document.createElement("div");
  all.className = "notes-written";
  all.append(list, write);
  place.append(all);
}

function noteItem(each: Note): HTMLElement {
  const item = document.createElement("li");
  const jump = document.createElement("button");
  jump.type = "button";
  jump.className = "quiet";
  jump.textContent = each.clock;
  jump.setAttribute("aria-label", `Go to ${each.clock}`);
  jump.addEventListener("click", () => goTo(each.at_s));
  const by = document.createElement("span");
  by.className = "soft";
  by.textContent = each.by;
  item.append(jump, ` ${each.text} `, by);
  return item;
}

function slider(): HTMLInputElement | null {
  return document.querySelector<HTMLInputElement>("input[data-moment]");
}

// The moment under the cursor; the middle of the maneuver where there is no cursor.
function moment(): number {
  const at = slider();
  return at ? Math.round(10 * (beside.start_s + Number(at.value))) / 10 : beside.at_s;
}

function goTo(seconds: number): void {
  const at = slider();
  if (!at) return;
  at.value = String(seconds - beside.start_s);
  at.dispatchEvent(new Event("input", { bubbles: true }));
  at.scrollIntoView({ block: "nearest" });
}

async function writeNote(): Promise<void> {
  if (await note(beside.lesson, moment(), beside.kind)) await again("The note is kept.");
}

async function again(said: string): Promise<void> {
  const response = await fetch(location.href, { headers: { accept: "text/html" } });
  const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
  const now = JSON.parse(fresh.querySelector("#beside")!.textContent!) as Beside;
  Object.assign(beside, now);
  showOverrides();
  showNotes();
  announce(said);
}
