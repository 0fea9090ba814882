// Forms of the book: sent as JSON with who sends them; a refusal stays beside the form that it is about.
import "./book.css";
import { send } from "../sending";
import { startWho, who } from "../who";
import { startFiles } from "./files";
import { startMaking, startMarking } from "./marking";
import { startWaiting } from "./waiting";

// Forms of people who are not signed in yet.
const NAMELESS = new Set(["/sign-in", "/invitation"]);
const REMEMBERED = "chalkwing-chosen-";

startWho();
startFiles();
startMarking();
startMaking();
startWaiting();
for (const field of document.querySelectorAll<HTMLSelectElement>("select[data-remember]")) remember(field);
// The secret of an invitation stands behind the #: browsers send it nowhere until the form does.
for (const field of document.querySelectorAll<HTMLInputElement>("input[data-fragment]")) {
  field.value = location.hash.slice(1);
  history.replaceState(null, "", location.pathname);
}
document.addEventListener("submit", (event) => {
  const form = (event.target as Element).closest<HTMLFormElement>("form[data-post]");
  if (!form) return;
  event.preventDefault();
  void post(form);
});

async function post(form: HTMLFormElement): Promise<void> {
  const by = NAMELESS.has(form.dataset.post ?? "") ? "" : await who();
  if (by === null) return;
  const refusal = form.querySelector<HTMLElement>(".refusal");
  if (refusal) refusal.hidden = true;
  document.body.classList.add("busy");
  try {
    const answer = await send<{ url?: string; link?: string }>("POST", form.dataset.post ?? "", { ...plain(form), by });
    if (answer.link) showLink(form, answer.link);
    else if (answer.url) location.assign(answer.url);
    else location.reload();
  } catch (error) {
    if (refusal) {
      refusal.hidden = false;
      refusal.textContent = (error as Error).message;
    }
  } finally {
    document.body.classList.remove("busy");
  }
}

// A link that is told once: it stays on the page until the page is left.
function showLink(form: HTMLFormElement, link: string): void {
  const place = form.querySelector<HTMLElement>(".link-given");
  if (!place) return;
  place.hidden = false;
  place.textContent = `Hand this link over yourself; it works once: ${link}`;
}

// What a form holds: boxes of one name as a list, everything else by its name.
export function plain(form: HTMLFormElement): Record<string, string | string[]> {
  const boxes = new Set([...form.querySelectorAll<HTMLInputElement>("input[type=checkbox]")].map((box) => box.name));
  const found: Record<string, string | string[]> = {};
  for (const name of boxes) found[name] = [];
  for (const [name, value] of new FormData(form)) {
    if (typeof value !== "string") continue;
    if (boxes.has(name)) (found[name] as string[]).push(value);
    else found[name] = value;
  }
  return found;
}

// The same instructor marks a whole lesson: the last one chosen at this browser is chosen at first.
function remember(field: HTMLSelectElement): void {
  const key = REMEMBERED + field.dataset.remember;
  const before = localStorage.getItem(key);
  if (before !== null && [...field.options].some((option) => option.value === before)) field.value = before;
  field.addEventListener("change", () => localStorage.setItem(key, field.value));
}
