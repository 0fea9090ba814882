// Forms of the book: sent as JSON with who sends them; a refusal stays beside the form that it is about.
import "./book.css";
import { send } from "../sending";
import { startWho, who } from "../who";
import { startFiles } from "./files";
import { startMaking, startMarking } from "./marking";

const REMEMBERED = "chalkwing-chosen-";

startWho();
startFiles();
startMarking();
startMaking();
for (const field of document.querySelectorAll<HTMLSelectElement>("select[data-remember]")) remember(field);
document.addEventListener("submit", (event) => {
  const form = (event.target as Element).closest<HTMLFormElement>("form[data-post]");
  if (!form) return;
  event.preventDefault();
  void post(form);
});

async function post(form: HTMLFormElement): Promise<void> {
  const by = form.dataset.post === "/sign-in" ? "" : await who();
  if (by === null) return;
  const refusal = form.querySelector<HTMLElement>(".refusal");
  if (refusal) refusal.hidden = true;
  document.body.classList.add("busy");
  try {
    const answer = await send<{ url?: string }>("POST", form.dataset.post ?? "", { ...plain(form), by });
    if (answer.url) location.assign(answer.url);
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
