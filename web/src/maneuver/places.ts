// The airplane in the plan and in the side view, and its sight line to what it is flown by.
import type { Cursor } from "./cursor";
import type { Flight } from "./flight";
import { isSeen, number, piece } from "./svg";

/** An airplane from above, nose up, about 26 px long. */
const AIRPLANE = "M0-13 2-5 14 1 14 4 2 2 1 9 5 12 5 14 0 13-5 14-5 12-1 9-2 2-14 4-14 1-2-5Z";
const SIGHTED = ["point", "pylon"];

interface Place {
  svg: SVGSVGElement;
  show(time: number): void;
}

export class Places {
  private readonly all: Place[];
  private seen: Place[] = [];

  constructor(root: HTMLElement, flight: Flight, cursor: Cursor) {
    const plans = [...root.querySelectorAll<SVGGElement>("g.plan")].map((group) => plan(group, flight));
    const sides = [...root.querySelectorAll<SVGGElement>("g.side")].map((group) => side(group, flight));
    this.all = [...plans, ...sides];
    cursor.follow((time) => this.seen.forEach((place) => place.show(time)));
    this.look();
  }

  look(): void {
    this.seen = this.all.filter((place) => isSeen(place.svg));
  }
}

function along(group: SVGGElement, axis: "x" | "y", north: number, east: number): number {
  return (number(group, `${axis}n`) * north + number(group, `${axis}e`) * east) / 1000 + number(group, `${axis}0`);
}

function plan(group: SVGGElement, flight: Flight): Place {
  const frame = group.dataset.frame === "air" ? "air" : "ground";
  const sight = piece("line", { class: "sight" });
  const symbol = piece("path", { class: "symbol", d: AIRPLANE });
  group.append(sight, symbol);
  return {
    svg: group.ownerSVGElement as SVGSVGElement,
    show(time) {
      const north = flight.at(`${frame}_north_ft`, time) ?? 0;
      const east = flight.at(`${frame}_east_ft`, time) ?? 0;
      const [x, y] = [along(group, "x", north, east), along(group, "y", north, east)];
      const turned = flight.at("nose_right_deg", time) ?? 0;
      symbol.setAttribute("transform", `translate(${x.toFixed(2)} ${y.toFixed(2)}) rotate(${turned.toFixed(1)})`);
      const part = flight.partAt(time).part;
      const mark = flight.told.ground.find((each) => SIGHTED.includes(each.what) && each.parts.includes(part));
      sight.toggleAttribute("hidden", frame === "air" || mark === undefined);
      if (mark && frame === "ground") {
        const [foot] = mark.ends;
        if (!foot) return;
        const ends = { x1: along(group, "x", ...foot), y1: along(group, "y", ...foot), x2: x, y2: y };
        for (const [name, value] of Object.entries(ends)) sight.setAttribute(name, value.toFixed(2));
      }
    },
  };
}

function side(group: SVGGElement, flight: Flight): Place {
  const symbol = piece("circle", { class: "symbol", r: 6 });
  group.append(symbol);
  const [low, high, start, end] = ["yLow", "yHigh", "yStart", "yEnd"].map((key) => number(group, key)) as [
    number, number, number, number,
  ];
  return {
    svg: group.ownerSVGElement as SVGSVGElement,
    show(time) {
      const x = along(group, "x", flight.at("ground_north_ft", time) ?? 0, flight.at("ground_east_ft", time) ?? 0);
      const height = flight.at("altitude_change_ft", time) ?? 0;
      symbol.setAttribute("cx", x.toFixed(2));
      symbol.setAttribute("cy", (start + ((height - low) / (high - low)) * (end - start)).toFixed(2));
    },
  };
}
