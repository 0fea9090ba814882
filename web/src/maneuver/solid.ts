// The path in three dimensions, true to scale, with an airplane at the cursor. Loaded when first asked for.
import { Line2 } from "three/examples/jsm/lines/Line2.js";
import { LineGeometry } from "three/examples/jsm/lines/LineGeometry.js";
import { LineMaterial } from "three/examples/jsm/lines/LineMaterial.js";
import {
  BufferGeometry,
  Color,
  DoubleSide,
  Float32BufferAttribute,
  Line,
  LineBasicMaterial,
  LineDashedMaterial,
  LineSegments,
  Mesh,
  MeshBasicMaterial,
  PerspectiveCamera,
  Scene,
  Vector3,
  WebGLRenderer,
} from "three";
import type { Cursor } from "./cursor";
import type { Flight } from "./flight";

const BEAD_S = 5;
const DEGREE = Math.PI / 180;

/** East, up, south: the scene's axes [ft]. */
function place(columns: Record<string, number[]>, row: number): [number, number, number] {
  const [north, east, up] = [columns.ground_north_ft, columns.ground_east_ft, columns.altitude_change_ft];
  return [east?.[row] ?? 0, up?.[row] ?? 0, -(north?.[row] ?? 0)];
}

function geometry(points: [number, number, number][]): BufferGeometry {
  return new BufferGeometry().setAttribute("position", new Float32BufferAttribute(points.flat(), 3));
}

class Solid {
  private readonly scene = new Scene();
  private readonly camera = new PerspectiveCamera(38, 1, 10, 200000);
  private readonly renderer = new WebGLRenderer({ antialias: true, alpha: true });
  private readonly airplane: Mesh;
  private readonly middle = new Vector3();
  private readonly paints: { material: { color: Color }; name: string }[] = [];
  private extent = 1000;
  private azimuth: number;
  private height = 28 * DEGREE;
  private distance = 1;
  private shown = false;

  constructor(private readonly box: HTMLElement, private readonly flight: Flight, private readonly cursor: Cursor) {
    const canvas = this.renderer.domElement;
    canvas.tabIndex = 0;
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", "The path in three dimensions; arrow keys turn it, plus and minus come nearer");
    canvas.dataset.ownKeys = "";
    box.append(canvas);
    this.azimuth = ((flight.told.entry.heading_true_deg ?? 0) + 205) * DEGREE;
    this.measure();
    this.drawPaths();
    this.airplane = new Mesh(airplane(0.045 * this.extent), this.painted(new MeshBasicMaterial({ side: DoubleSide }), "--ink"));
    this.airplane.rotation.order = "YXZ";
    this.scene.add(this.airplane);
    this.paint();
    this.listen(canvas);
    cursor.follow((time) => this.shown && this.fly(time));
    new ResizeObserver(() => this.shown && this.render()).observe(box);
    document.addEventListener("chalkwing:ground", () => {
      this.paint();
      this.render();
    });
  }

  show(on: boolean): void {
    this.shown = on;
    if (on) this.fly(this.cursor.now);
  }

  private measure(): void {
    const columns = this.flight.told.columns;
    const low = new Vector3(Infinity, Infinity, Infinity);
    const high = new Vector3(-Infinity, -Infinity, -Infinity);
    for (let row = 0; row < this.flight.times.length; row += 1) {
      const at = new Vector3(...place(columns, row));
      low.min(at);
      high.max(at);
    }
    this.middle.addVectors(low, high).multiplyScalar(0.5);
    this.extent = Math.max(400, high.distanceTo(low));
    this.floor = low.y - 0.06 * this.extent;
  }

  private floor = 0;

  private drawPaths(): void {
    const columns = this.flight.told.columns;
    for (const part of this.flight.told.parts) {
      const rows = Array.from({ length: part.last - part.first + 1 }, (_, k) => place(columns, part.first + k));
      const chalk = part.part % 2 ? "--first" : "--second";
      const thick = new Line2(new LineGeometry().setPositions(rows.flat()), this.painted(new LineMaterial({ linewidth: 3.5 }), chalk));
      this.scene.add(thick);
      this.scene.add(new LineSegments(geometry(this.posts(part.first, part.last)), this.painted(new LineBasicMaterial(), "--grid")));
    }
    for (const plan of this.flight.told.plan) {
      const rows = (plan.columns.time_s ?? []).map((_, row) => place(plan.columns, row));
      const dashes = new LineDashedMaterial({ dashSize: 0.012 * this.extent, gapSize: 0.008 * this.extent });
      this.scene.add(new Line(geometry(rows), this.painted(dashes, "--soft")).computeLineDistances());
    }
    const shadow = Array.from(this.flight.times, (_, row) => {
      const [east, , south] = place(columns, row);
      return [east, this.floor, south] as [number, number, number];
    });
    this.scene.add(new Line(geometry(shadow), this.painted(new LineBasicMaterial(), "--edge")));
  }

  /** A post every five seconds from the path down to its shadow: far apart is fast. */
  private posts(first: number, last: number): [number, number, number][] {
    const found: [number, number, number][] = [];
    let next = -Infinity;
    for (let row = first; row <= last; row += 1) {
      const time = this.flight.times[row] as number;
      if (time < next) continue;
      next = (next === -Infinity ? time : next) + BEAD_S;
      const at = place(this.flight.told.columns, row);
      found.push(at, [at[0], this.floor, at[2]]);
    }
    return found;
  }

  private painted<M extends { color: Color }>(material: M, name: string): M {
    this.paints.push({ material, name });
    return material;
  }

  private paint(): void {
    const style = getComputedStyle(document.documentElement);
    for (const { material, name } of this.paints) material.color.set(style.getPropertyValue(name).trim() || "#888");
  }

  private fly(time: number): void {
    const value = (name: string): number => this.flight.at(name, time) ?? 0;
    this.airplane.position.set(value("ground_east_ft"), value("altitude_change_ft"), -value("ground_north_ft"));
    const heading = (this.flight.told.entry.heading_true_deg ?? 0) + value("nose_right_deg");
    this.airplane.rotation.set(value("pitch_from_level_deg") * DEGREE, -heading * DEGREE, -value("bank_deg") * DEGREE);
    this.render();
  }

  private render(): void {
    const { clientWidth: width, clientHeight: height } = this.box;
    if (!width || !height) return;
    this.renderer.setPixelRatio(Math.min(2, devicePixelRatio));
    this.renderer.setSize(width, height, false);
    this.camera.aspect = width / height;
    this.camera.updateProjectionMatrix();
    const far = this.distance * 0.95 * this.extent;
    const level = far * Math.cos(this.height);
    this.camera.position.set(
      this.middle.x + level * Math.sin(this.azimuth),
      this.middle.y + far * Math.sin(this.height),
      this.middle.z - level * Math.cos(this.azimuth),
    );
    this.camera.lookAt(this.middle);
    this.renderer.render(this.scene, this.camera);
  }

  private turn(right: number, up: number, nearer: number): void {
    this.azimuth += right * DEGREE;
    this.height = Math.min(85 * DEGREE, Math.max(2 * DEGREE, this.height + up * DEGREE));
    this.distance = Math.min(3, Math.max(0.3, this.distance * nearer));
    this.render();
  }

  private listen(canvas: HTMLCanvasElement): void {
    let held: [number, number] | null = null;
    canvas.addEventListener("pointerdown", (event) => {
      held = [event.clientX, event.clientY];
      canvas.setPointerCapture(event.pointerId);
    });
    canvas.addEventListener("pointermove", (event) => {
      if (!held) return;
      this.turn((event.clientX - held[0]) * 0.4, (event.clientY - held[1]) * 0.3, 1);
      held = [event.clientX, event.clientY];
    });
    canvas.addEventListener("pointerup", () => (held = null));
    const keys: Record<string, [number, number, number]> = {
      ArrowLeft: [-6, 0, 1],
      ArrowRight: [6, 0, 1],
      ArrowUp: [0, 4, 1],
      ArrowDown: [0, -4, 1],
      "+": [0, 0, 0.87],
      "-": [0, 0, 1.15],
    };
    canvas.addEventListener("keydown", (event) => {
      const by = keys[event.key];
      if (!by) return;
      this.turn(...by);
      event.preventDefault();
    });
  }
}

/** A plain airplane of a few triangles, nose toward north. */
function airplane(size: number): BufferGeometry {
  const s = size;
  const points: [number, number, number][] = [
    [0, 0, -1], [0.12, 0, 0.9], [-0.12, 0, 0.9],
    [0, 0, -0.35], [1.15, 0.04, 0.05], [0, 0, 0.22],
    [0, 0, -0.35], [0, 0, 0.22], [-1.15, 0.04, 0.05],
    [0, 0, 0.62], [0.42, 0, 0.88], [-0.42, 0, 0.88],
    [0, 0, 0.5], [0, 0.42, 0.92], [0, 0, 0.92],
  ];
  return geometry(points.map(([x, y, z]) => [x * s, y * s, z * s]));
}

export function startSolid(box: HTMLElement, flight: Flight, cursor: Cursor): Solid {
  return new Solid(box, flight, cursor);
}
