// What every page has: the ground (paper or slate).
import "./style/site.css";
import { startGround } from "./ground";

startGround();
