// The maneuver page.
import "./maneuver.css";
import { startManeuver } from "./page";

const root = document.querySelector<HTMLElement>("[data-maneuver]");
if (root) startManeuver(root);
