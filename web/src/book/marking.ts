// Marking a common set by keys: a digit chooses a step, the right arrow keeps it and goes on, the left one goes back.
import "./marking.css";

const STORED = "chalkwing-letter-keys";

export function startMarking(): void {
  const root = document.querySelector<HTMLElement>(".marking");
  if (!root) return;
  const button = root.querySelector<HTMLButtonElement>("[data-letters]");
  let digits = localStorage.getItem(STORED) !== "off";
  const name = (): void => {
    if (!button) return;
    button.hidden = false;
    button.textContent = digits ? "Digit keys on" : "Digit keys off";
    button.setAttribute("aria-pressed", String(digits));
  };
  name();
  button?.addEventListener("click", () => {
    digits = !digits;
    localStorage.setItem(STORED, digits ? "on" : "off");
    name();
  });
  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey || event.repeat) return;
    if (event.target instanceof Element && event.target.closest("select, textarea, dialog, input:not([type=radio])")) return;
    if (pressed(root, event.key, digits)) event.preventDefault();
  });
}

function pressed(root: HTMLElement, key: string, digits: boolean): boolean {
  if (key === "ArrowLeft") return follow(root, "a[rel=prev]");
  if (key === "ArrowRight") {
    const form = root.querySelector<HTMLFormElement>("form[data-marking]");
    if (!form?.querySelector("[name=step]:checked")) return follow(root, "a[rel=next]") || follow(root, "[data-after]");
    if (!document.body.classList.contains("busy")) form.requestSubmit();
    return true;
  }
  if (!digits || !/^[1-9]$/.test(key)) return false;
  const step = root.querySelectorAll<HTMLInputElement>("[name=step]")[Number(key) - 1];
  if (!step) return false;
  step.checked = true;
  step.focus({ preventScroll: true });
  return true;
}

function follow(root: HTMLElement, which: string): boolean {
  const link = root.querySelector<HTMLAnchorElement>(which);
  if (link) location.assign(link.href);
  return link !== null;
}

// The list of sets, while one is being made: it is told how far it is, and loaded again once it is done.
interface Making {
  what: string;
  fraction: number;
  under_way: boolean;
}

export function startMaking(): void {
  const told = document.querySelector<HTMLElement>("[data-making]");
  if (told) void ask(told);
}

async function ask(told: HTMLElement): Promise<void> {
  const answer = await fetch("/book/common/making").catch(() => null);
  const state = answer?.ok ? ((await answer.json()) as Making | null) : null;
  if (state && !state.under_way) {
    location.reload();
    return;
  }
  if (state) {
    told.querySelector("progress")!.value = state.fraction;
    told.querySelector("[role=status]")!.textContent = state.what;
  }
  setTimeout(() => void ask(told), 1000);
}
