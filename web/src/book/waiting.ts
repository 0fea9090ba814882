// What the server is still working out: asked for now and then, and put in its place once it is there.
const [FIRST, LONGEST] = [700, 5000];

interface Standing {
  current: boolean;
  refusal: string | null;
}

export function startWaiting(): void {
  const awaited = document.querySelector<HTMLElement>("[data-awaits]")?.dataset.awaits;
  if (awaited) ask(awaited, FIRST);
}

function ask(url: string, pause: number): void {
  setTimeout(() => void look(url, pause), pause);
}

async function look(url: string, pause: number): Promise<void> {
  try {
    const answer = await fetch(url, { headers: { accept: "application/json" } });
    if (!answer.ok) return; // signed out, or the student is no longer there: the link beside it says so
    const standing = (await answer.json()) as Standing;
    if (standing.current || standing.refusal !== null) return await take();
  } catch {
    // The server does not answer just now: asked again as usual.
  }
  ask(url, Math.min(2 * pause, LONGEST));
}

// The page as it is now gives each part that was awaited; what else is open or chosen on it stays.
async function take(): Promise<void> {
  const answer = await fetch(location.href, { headers: { accept: "text/html" } });
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const part of document.querySelectorAll<HTMLElement>("[data-told]")) {
    const now = fresh.querySelector(`[data-told="${CSS.escape(part.dataset.told ?? "")}"]`);
    if (now) part.replaceChildren(...document.adoptNode(now).childNodes);
  }
}
