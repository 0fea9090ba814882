// Paper or slate: the machine's preference until the button says otherwise; the server draws it from a cookie.

const COOKIE = "chalkwing-ground";
type Ground = "paper" | "slate";

function current(): Ground {
  const chosen = document.documentElement.dataset.ground;
  if (chosen === "paper" || chosen === "slate") return chosen;
  return matchMedia("(prefers-color-scheme: dark)").matches ? "slate" : "paper";
}

function label(button: HTMLButtonElement): void {
  button.textContent = current() === "paper" ? "Slate" : "Paper";
  button.title = current() === "paper" ? "Light chalk on dark slate" : "Ink on light paper";
}

export function startGround(): void {
  const button = document.querySelector<HTMLButtonElement>("#ground");
  if (!button) return;
  button.hidden = false;
  label(button);
  button.addEventListener("click", () => {
    const next: Ground = current() === "paper" ? "slate" : "paper";
    document.documentElement.dataset.ground = next;
    document.cookie = `${COOKIE}=${next}; Path=/; Max-Age=31536000; SameSite=Strict`;
    label(button);
    document.dispatchEvent(new CustomEvent("chalkwing:ground", { detail: next }));
  });
}
