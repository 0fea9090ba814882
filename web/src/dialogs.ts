// A dialog as a question: what its form holds when it is sent, null when it is put aside.

export type Keep = (form: FormData) => Promise<void>;

// With `keep` the dialog stays open until that has succeeded, and shows why it did not.
export function asked(dialog: HTMLDialogElement, keep?: Keep): Promise<FormData | null> {
  const form = dialog.querySelector("form")!;
  const refusal = dialog.querySelector<HTMLElement>(".refusal");
  if (refusal) refusal.hidden = true;
  return new Promise((resolve) => {
    const ends = new AbortController();
    const end = (value: FormData | null): void => {
      ends.abort();
      if (dialog.open) dialog.close();
      resolve(value);
    };
    const on = { signal: ends.signal };
    dialog.addEventListener("cancel", () => end(null), on);
    dialog.querySelector('[data-do="cancel"]')?.addEventListener("click", () => end(null), on);
    form.addEventListener(
      "submit",
      (event) => {
        event.preventDefault();
        const data = new FormData(form);
        if (!keep) return end(data);
        const button = form.querySelector<HTMLButtonElement>('button[type="submit"]');
        if (button) button.disabled = true;
        keep(data)
          .then(() => end(data))
          .catch((error: Error) => {
            if (!refusal) return;
            refusal.hidden = false;
            refusal.textContent = error.message;
          })
          .finally(() => {
            if (button) button.disabled = false;
          });
      },
      on,
    );
    dialog.showModal();
  });
}
