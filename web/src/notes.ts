// Notes: words on a moment; a clock time in front of them says which.
import { change } from "./changing";
import { asked } from "./dialogs";

const PENCILLED = /^(\d{1,2}:\d{2}(?::\d{2})?\s*(?:z|utc|[+-]\d{2}:\d{2})?)\s+(.+)$/is;

// Asks for a note and keeps it; at the written time, else at `at` seconds. False when put aside.
export async function note(lesson: string, at: number, kind: string | null): Promise<boolean> {
  const dialog = document.querySelector<HTMLDialogElement>("#note")!;
  dialog.querySelector("form")!.reset();
  let kept = false;
  await asked(dialog, async (form) => {
    const text = String(form.get("text") ?? "").trim();
    const written = PENCILLED.exec(text);
    kept = await change(
      lesson,
      written
        ? { act: "mark", at: written[1]!.trim(), text: written[2]!.trim() }
        : { act: "note", at_s: at, kind, text },
    );
  });
  return kept;
}
