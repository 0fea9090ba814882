// Who makes the changes at this browser: asked once, kept here, sent with every change.
import { asked } from "./dialogs";

const KEY = "chalkwing-who";

function known(): string {
  // Where people sign in, it is whoever is signed in; the server takes no other name.
  const signedIn = document.querySelector<HTMLMetaElement>('meta[name="chalkwing-who"]')?.content;
  return signedIn ?? localStorage.getItem(KEY) ?? "";
}

export function startWho(): void {
  const button = document.querySelector<HTMLButtonElement>("#who");
  if (!button) return;
  button.textContent = known() || "Who are you?";
  button.addEventListener("click", () => void ask());
}

async function ask(): Promise<string | null> {
  const dialog = document.querySelector<HTMLDialogElement>("#who-dialog");
  if (!dialog) return null;
  const field = dialog.querySelector<HTMLInputElement>('[name="name"]')!;
  field.value = known();
  const form = await asked(dialog);
  const name = String(form?.get("name") ?? "").trim();
  if (!name) return null;
  localStorage.setItem(KEY, name);
  document.querySelector("#who")!.textContent = name;
  return name;
}

// The name, asked for where it is not known yet; null when the question was put aside.
export async function who(): Promise<string | null> {
  return known() || (await ask());
}
