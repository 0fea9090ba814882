// Recordings dropped or chosen, sent one by one with progress; then the lesson that they become.
import { asked } from "../dialogs";
import { answered, Refused, said, send, token, type Refusal } from "../sending";

interface Stored {
  sha256: string;
  name: string;
  size: number;
}

interface Work {
  state: "working" | "refused" | "done";
  what: string;
  fraction: number;
  refusal: Refusal | null;
}

// A choice, the value at which it asks for more, and the field that takes it.
const FURTHER = [
  ["limits", "file", "limits"],
  ["columns", "file", "columns-file"],
  ["columns", "text", "columns-text"],
] as const;

const form = document.querySelector<HTMLFormElement>("#upload");
if (form) startUpload(form);
const waiting = document.querySelector<HTMLElement>("[data-progress]");
// Without what the address asks: asked to try again, each coming back would begin anew for ever.
const comeBack = (): void => location.replace(location.pathname);
if (waiting) void follow(waiting, waiting.dataset.progress ?? "", comeBack);

document.addEventListener("click", (event) => {
  const button = (event.target as Element).closest<HTMLElement>('[data-do="remove"]');
  if (button) void remove(button.closest<HTMLElement>("li")!);
});

async function remove(item: HTMLElement): Promise<void> {
  const dialog = document.querySelector<HTMLDialogElement>("#remove")!;
  dialog.querySelector("#remove-what")!.textContent = item.querySelector("a")!.textContent;
  await asked(dialog, async () => {
    await send("DELETE", `/lesson/${item.dataset.lesson}`);
    item.remove();
  });
}

function startUpload(form: HTMLFormElement): void {
  const picker = form.querySelector<HTMLInputElement>("#files")!;
  let chosen: File[] = [];

  const show = (): void => {
    const list = form.querySelector<HTMLUListElement>("#chosen")!;
    list.replaceChildren(...chosen.map((file, k) => chosenItem(file, () => remove(k))));
  };
  const remove = (k: number): void => {
    chosen = chosen.filter((_, j) => j !== k);
    show();
  };
  const add = (files: Iterable<File>): void => {
    refuse(form, null);
    chosen = [...chosen, ...files];
    const most = Number(form.dataset.most);
    if (chosen.length > most) {
      chosen = chosen.slice(0, most);
      refuse(form, { what: `A lesson is made of at most ${most} recordings.`, where: null, next: null });
    }
    show();
  };

  picker.addEventListener("change", () => {
    add(picker.files ?? []);
    picker.value = "";
  });
  for (const kind of ["dragover", "drop"] as const) {
    document.addEventListener(kind, (event) => {
      event.preventDefault();
      form.classList.toggle("over", kind === "dragover");
      if (kind === "drop") add(event.dataTransfer?.files ?? []);
    });
  }
  document.addEventListener("dragleave", () => form.classList.remove("over"));
  for (const [name, value, shown] of FURTHER) {
    const choice = form.querySelector<HTMLSelectElement>(`[name="${name}"]`)!;
    const further = form.querySelector<HTMLElement>(`[data-for="${shown}"]`)!;
    const follow = (): void => void (further.hidden = choice.value !== value);
    choice.addEventListener("change", follow);
    follow(); // a browser that goes back keeps what was chosen
  }
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (chosen.length === 0) picker.click();
    else void open(form, chosen);
  });
}

interface Words {
  name: string | null;
  text: string;
}

// The school's own limits: the name of a file kept before, or a new file with its words.
async function limits(form: HTMLFormElement, fields: FormData): Promise<Words | string | null> {
  const chosen = String(fields.get("limits") ?? "");
  if (chosen !== "file") return chosen || null;
  return read(form, "limits-file", "file of limits", "Choose it, or take them as published.");
}

// What the columns hold: a file with its words, or words typed here.
async function columns(form: HTMLFormElement, fields: FormData): Promise<Words | null> {
  const chosen = fields.get("columns");
  if (chosen === "file") return read(form, "columns-file", "column map", "Choose its file, or take none.");
  if (chosen !== "text") return null;
  const text = String(fields.get("columns-text") ?? "");
  if (!text.trim()) {
    throw new Refused({ what: "the column map says nothing.", where: null, next: "Write it, or take none." });
  }
  return { name: null, text };
}

async function read(form: HTMLFormElement, name: string, what: string, next: string): Promise<Words> {
  const field = form.querySelector<HTMLInputElement>(`[name="${name}"]`)!;
  const file = field.files?.[0];
  if (!file) throw new Refused({ what: `no ${what} was chosen.`, where: null, next });
  const most = Number(field.dataset.most);
  if (file.size > 4 * most) {
    throw new Refused({ what: `it is longer than ${most} letters.`, where: file.name, next: `Choose a ${what}.` });
  }
  return { name: file.name, text: await file.text() };
}

function chosenItem(file: File, remove: () => void): HTMLLIElement {
  const item = document.createElement("li");
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Leave out";
  button.setAttribute("aria-label", `Leave out ${file.name}`);
  button.addEventListener("click", remove);
  item.append(`${file.name} (${sized(file.size)}) `, button);
  return item;
}

function sized(bytes: number): string {
  return bytes < 1e6 ? `${Math.max(1, Math.round(bytes / 1e3))} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}

async function open(form: HTMLFormElement, chosen: readonly File[]): Promise<void> {
  const work = form.querySelector<HTMLElement>(".work")!;
  const button = form.querySelector<HTMLButtonElement>('button[type="submit"]')!;
  button.disabled = true;
  work.hidden = false;
  refuse(form, null);
  try {
    // First what the form itself may refuse: sending takes its time.
    const fields = new FormData(form);
    const words = { limits: await limits(form, fields), columns: await columns(form, fields) };
    const files: Stored[] = [];
    for (const [k, file] of chosen.entries()) {
      const share = (done: number): void => show(work, `sending ${file.name}`, (k + done) / chosen.length);
      files.push(await put(file, Number(form.dataset.bytes), share));
    }
    const lesson = await send<{ id: string; url: string }>("POST", "/lessons", {
      files,
      airplane: fields.get("airplane"),
      standard: fields.get("standard"),
      ...words,
      zone: fields.get("zone"),
    });
    await follow(work, `${lesson.url}/progress`, () => location.assign(lesson.url));
  } catch (error) {
    refuse(form, error instanceof Refused ? error.refusal : { what: String(error), where: null, next: null });
    work.hidden = true;
  }
  button.disabled = false;
}

// A request that tells how much of its body is sent, which fetch does not.
function put(file: File, most: number, share: (done: number) => void): Promise<Stored> {
  if (file.size > most) {
    const what = `the file is larger than the ${Math.round(most / 1048576)} MB that are taken.`;
    return Promise.reject(new Refused({ what, where: file.name, next: null }));
  }
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("PUT", `/uploads?name=${encodeURIComponent(file.name)}`);
    request.setRequestHeader("x-chalkwing-token", token());
    request.upload.addEventListener("progress", (event) => share(event.loaded / Math.max(1, file.size)));
    request.addEventListener("load", () => {
      try {
        resolve(answered<Stored>(request.status, request.responseText));
      } catch (error) {
        reject(error as Error);
      }
    });
    request.addEventListener("error", () => {
      reject(new Refused({ what: "the upload broke off.", where: file.name, next: "Send it again." }));
    });
    request.send(file);
  });
}

async function follow(work: HTMLElement, url: string, done: () => void): Promise<void> {
  for (;;) {
    const response = await fetch(url);
    const state = answered<Work>(response.status, await response.text());
    if (state.state === "done") return done();
    if (state.state === "refused") {
      if (!form) return done();
      throw new Refused(state.refusal!);
    }
    show(work, state.what, state.fraction);
    await new Promise((resolve) => setTimeout(resolve, 250));
  }
}

function show(work: HTMLElement, what: string, fraction: number): void {
  work.querySelector("progress")!.value = fraction;
  work.querySelector(".work-what")!.textContent = what;
}

function refuse(form: HTMLFormElement, refusal: Refusal | null): void {
  const place = form.querySelector<HTMLElement>(".refusal")!;
  place.hidden = refusal === null;
  place.textContent = refusal === null ? "" : said(refusal);
}
