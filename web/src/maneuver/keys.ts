// Everything by keyboard; letters and digits can be switched off (WCAG 2.1, 2.1.4).

import { isSeen } from "./svg";

const STORED = "chalkwing-letter-keys";
const OWN_KEYS = "input:not([type=range]), select, textarea, [contenteditable], [data-own-keys]";

export interface Doings {
  by(seconds: number): void;
  point(way: 1 | -1): void;
  to(end: "start" | "end"): void;
  play(): void;
  speed(times: number): void;
  press(key: string): void;
  more(): void;
}

export function startKeys(root: HTMLElement, doings: Doings): void {
  const help = root.querySelector<HTMLElement>("[data-help]");
  const button = root.querySelector<HTMLButtonElement>('[data-key="letters"]');
  let letters = kept() !== "off";
  const name = (): void => {
    if (!button) return;
    button.textContent = letters ? "Letter keys on" : "Letter keys off";
    button.setAttribute("aria-pressed", String(letters));
  };
  button?.addEventListener("click", () => {
    letters = !letters;
    keep(letters ? "on" : "off");
    name();
  });
  name();
  help?.removeAttribute("hidden");
  document.addEventListener("keydown", (event) => {
    if (!isSeen(root)) return;
    if (event.altKey || event.ctrlKey || event.metaKey || event.defaultPrevented) return;
    if (event.target instanceof Element && event.target.closest(OWN_KEYS)) return;
    if (moved(event, doings) || (letters && lettered(event, doings))) event.preventDefault();
  });
}

/** A file opened from a disk may have nowhere to keep anything. */
function kept(): string | null {
  try {
    return localStorage.getItem(STORED);
  } catch {
    return null;
  }
}

function keep(value: string): void {
  try {
    localStorage.setItem(STORED, value);
  } catch {
    // It holds until the page is closed.
  }
}

function moved(event: KeyboardEvent, doings: Doings): boolean {
  const onControl = event.target instanceof Element && event.target.closest("button, summary, a");
  const slow = event.shiftKey ? 0.25 : 1;
  const found: Record<string, () => void> = {
    ArrowLeft: () => doings.by(-slow),
    ArrowRight: () => doings.by(slow),
    PageUp: () => doings.point(-1),
    PageDown: () => doings.point(1),
    Home: () => doings.to("start"),
    End: () => doings.to("end"),
    ...(onControl ? {} : { " ": () => doings.play() }),
  };
  const doing = found[event.key];
  doing?.();
  return doing !== undefined;
}

function lettered(event: KeyboardEvent, doings: Doings): boolean {
  const key = event.key.toLowerCase();
  if (/^[1-4]$/.test(key)) doings.speed(Number(key));
  else if (key === "t") doings.press("time");
  else if (key === "a") doings.press("air");
  else if (key === "d") doings.press("solid");
  else if (key === "m") doings.more();
  else return false;
  return true;
}
