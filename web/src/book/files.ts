// Files of the school's own: a chosen file fills the text that is sent, and an outline is looked at before it counts.
import { send } from "../sending";
import { who } from "../who";
import "./files.css";

export function startFiles(): void {
  for (const field of document.querySelectorAll<HTMLInputElement>("input[data-into]")) {
    field.addEventListener("change", () => void fill(field));
  }
  for (const button of document.querySelectorAll<HTMLButtonElement>("button[data-check]")) {
    button.addEventListener("click", () => void check(button));
  }
}

async function fill(field: HTMLInputElement): Promise<void> {
  const file = field.files?.[0];
  const text = field.form?.elements.namedItem(field.dataset.into ?? "");
  if (file && text instanceof HTMLTextAreaElement) text.value = await file.text();
}

async function check(button: HTMLButtonElement): Promise<void> {
  const form = button.form;
  const by = await who();
  if (!form || by === null || !form.reportValidity()) return;
  const refusal = form.querySelector<HTMLElement>(".refusal")!;
  const told = form.querySelector<HTMLElement>("[role=status]")!;
  refusal.hidden = true;
  told.textContent = "";
  const text = String(new FormData(form).get("text") ?? "");
  try {
    const answer = await send<{ said: string }>("POST", form.dataset.post ?? "", { text, by, act: "check" });
    told.textContent = answer.said;
  } catch (error) {
    refusal.hidden = false;
    refusal.textContent = (error as Error).message;
  }
}
