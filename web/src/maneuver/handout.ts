// The file that is handed out: the lesson and its maneuvers in one document, one shown at a time.
import "../style/fonts.css";
import "../style/tokens.css";
import "../style/frame.css";
import "./maneuver.css";
import "./handout.css";
import "../style/print.css";
import { startManeuver } from "./page";

const sheets = [...document.querySelectorAll<HTMLElement>("[data-sheet]")];
const started = new Set<HTMLElement>();

function show(): void {
  const name = location.hash.slice(1);
  const shown = sheets.find((sheet) => sheet.dataset.sheet === name) ?? sheets[0];
  for (const sheet of sheets) sheet.hidden = sheet !== shown;
  const root = shown?.querySelector<HTMLElement>("[data-maneuver]");
  if (root && !started.has(root)) {
    started.add(root);
    startManeuver(root);
  }
  dispatchEvent(new Event("resize"));
  scrollTo(0, 0);
}

addEventListener("hashchange", show);
show();
