// The ground lesson: the plan follows the sliders; one moment runs through all its pictures.
import "../maneuver/maneuver.css";
import "./ground-lesson.css";
import { startKeys } from "../maneuver/keys";
import { Controls } from "./controls";
import { Errors } from "./errors";
import { Planner, type Plan } from "./planner";
import { Shown } from "./shown";
import { Steps } from "./steps";

const root = document.querySelector<HTMLElement>("#ground-lesson");
if (root) start(root);

function start(root: HTMLElement): void {
  const controls = new Controls(root, () => planner.ask(controls.query()));
  const errors = new Errors(root, controls);
  const steps = new Steps(root, (time) => shown.to(time));
  const shown = new Shown(root, (time) => steps.follow(time));
  const planner = new Planner(root, (plan: Plan) => {
    shown.put(plan);
    steps.put(plan.steps);
    controls.put(plan.free);
    errors.put();
  });
  startKeys(root, {
    by: (seconds) => shown.by(seconds),
    point: (way) => shown.point(way),
    to: (end) => shown.end(end),
    play: () => shown.play(),
    speed: (times) => shown.speed(times),
    press: () => undefined,
    more: () => undefined,
  });
  planner.ask(controls.query());
}
