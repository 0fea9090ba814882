// What every page has: the ground (paper or slate), and in a school the way out.
import "./style/site.css";
import { startGround } from "./ground";
import { send } from "./sending";

startGround();
document.querySelector("#sign-out")?.addEventListener("click", () => void signOut());

async function signOut(): Promise<void> {
  const answer = await send<{ url: string }>("POST", "/sign-out", {});
  location.assign(answer.url);
}
