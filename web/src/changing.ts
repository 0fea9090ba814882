// Changes to a lesson: sent with who made them; then the page shows what the server makes of them.
import { send } from "./sending";
import { who } from "./who";

export type Table = Record<string, string | number | number[][] | null | undefined>;

// False when the question of who makes it was put aside.
export async function change(lesson: string, ...tables: Table[]): Promise<boolean> {
  const by = await who();
  if (by === null) return false;
  document.body.classList.add("busy");
  try {
    for (const table of tables) await send("POST", `/lesson/${lesson}/changes`, { ...table, by });
  } finally {
    document.body.classList.remove("busy");
  }
  return true;
}

// Takes the parts of the page that `selectors` name from the server again, in place.
export async function refresh(...selectors: string[]): Promise<void> {
  const response = await fetch(location.href, { headers: { accept: "text/html" } });
  const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
  for (const selector of selectors) {
    const [old, now] = [document.querySelector(selector), fresh.querySelector(selector)];
    if (old && now) old.replaceWith(document.adoptNode(now));
  }
}

export function announce(text: string): void {
  const place = document.querySelector("#said");
  if (place) place.textContent = text;
}
