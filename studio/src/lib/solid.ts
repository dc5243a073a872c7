// The folded case in space: thick panels that keep their buffers, drawn only on demand.
import {
  AmbientLight,
  BoxGeometry,
  Color,
  DirectionalLight,
  DoubleSide,
  EdgesGeometry,
  Group,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  PerspectiveCamera,
  Raycaster,
  Scene,
  SphereGeometry,
  Vector2,
  Vector3,
  WebGLRenderer,
} from 'three';
import type { Bend, Case, Frames, Place, Solid } from '../wire';
import { LIGHT, NIGHT, waves, type Paint } from './solid/paint';
import { matrix, Panel } from './solid/panel';

export interface Pose {
  stage: number;
  step: number;
  frames: Frames;
  /** For each pair of bends, which of their shapes they have. */
  bends: number[];
}

/** All poses that the server sent, in the order of folding. */
export function poses(solid: Solid): Pose[] {
  return solid.stages.flatMap((stage, i) => [
    ...(solid.steps[i] ?? []).map((step, k) => ({ stage: i, step: k + 1, frames: step.frames, bends: step.bends })),
    { stage: i, step: 0, frames: stage.frames, bends: stage.bends },
  ]);
}

/** Board lies a little behind its own lines and the room it holds, so that these are drawn clean. */
const BOARD = { side: DoubleSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 2 } as const;
/** Where two panels claim the same place, the lit one is seen. */
const LIT = { ...BOARD, polygonOffsetFactor: 0.5, polygonOffsetUnits: 1 } as const;

/** Turn of the view when nobody has turned it: from the front, above, a little to the right. */
const HOME = { turn: -0.62, lift: 0.5, zoom: 1 };

/** From the case toward the eye. */
function direction(turn: number, lift: number): Vector3 {
  return new Vector3(-Math.cos(lift) * Math.sin(turn), -Math.cos(lift) * Math.cos(turn), Math.sin(lift));
}

export class SolidView {
  readonly #renderer: WebGLRenderer;
  readonly #scene = new Scene();
  readonly #camera = new PerspectiveCamera(28, 1, 1, 1e5);
  readonly #panels = new Map<string, Panel>();
  readonly #caster = new Raycaster();
  readonly #lamp = new DirectionalLight('#ffffff', 1.9);
  readonly #plain = new MeshLambertMaterial({ ...BOARD, vertexColors: true });
  readonly #plainLit = new MeshLambertMaterial(LIT);
  readonly #wave = new MeshLambertMaterial(BOARD);
  readonly #waveLit = new MeshLambertMaterial(LIT);
  readonly #line = new LineBasicMaterial();
  readonly #lineLit = new LineBasicMaterial();
  readonly #block: Mesh<BoxGeometry, MeshBasicMaterial>;
  readonly #blockLines: LineSegments<EdgesGeometry, LineBasicMaterial>;
  /** What of its edges is behind board shows through a little. */
  readonly #blockLinesHidden: LineSegments<EdgesGeometry, LineBasicMaterial>;
  readonly #marks = new Group();
  readonly #markShape = new SphereGeometry(1, 16, 12);
  readonly #markPaint = new MeshBasicMaterial({ depthTest: false, transparent: true });
  readonly #centre = new Vector3();
  readonly #half = new Vector3(1, 1, 1);
  #layers = 0;
  /** Which shapes the bends have now. */
  #shapes: readonly number[] = [];
  #dark: boolean | null = null;
  #lit = new Set<string>();
  #wanted = 0;
  #wide = 1;
  #high = 1;
  turn = HOME.turn;
  lift = HOME.lift;
  zoom = HOME.zoom;
  shift = new Vector2();
  /** Called after each drawing, for labels that follow the view. */
  onDrawn: () => void = () => {};

  constructor(canvas: HTMLCanvasElement) {
    this.#renderer = new WebGLRenderer({ canvas, antialias: true, alpha: false, powerPreference: 'low-power' });
    this.#renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.#scene.add(new AmbientLight('#ffffff', 1.9), this.#lamp);
    const unit = new BoxGeometry(1, 1, 1);
    this.#block = new Mesh(unit, new MeshBasicMaterial({ transparent: true, opacity: 0.16, depthWrite: false }));
    const edges = new EdgesGeometry(unit);
    this.#blockLines = new LineSegments(edges, new LineBasicMaterial({ transparent: true, opacity: 0.9 }));
    this.#blockLinesHidden = new LineSegments(edges, new LineBasicMaterial({ transparent: true, opacity: 0.28, depthTest: false }));
    this.#block.renderOrder = 2;
    this.#blockLines.renderOrder = this.#blockLinesHidden.renderOrder = 3;
    this.#marks.renderOrder = 4;
    this.#scene.add(...this.#room, this.#marks);
  }

  paint(dark: boolean, doubleWall: boolean): void {
    const layers = doubleWall ? 2 : 1;
    if (this.#dark === dark && this.#layers === layers) return;
    this.#dark = dark;
    this.#layers = layers;
    const paint = this.#paint;
    this.#wave.map?.dispose();
    this.#wave.map = this.#waveLit.map = waves(paint, layers);
    this.#wave.needsUpdate = this.#waveLit.needsUpdate = true;
    this.#plainLit.color.set(paint.lit);
    this.#waveLit.color.set(paint.lit);
    this.#line.color.set(paint.line);
    this.#lineLit.color.set(paint.litLine);
    this.#markPaint.color.set(paint.place);
    this.#renderer.setClearColor(paint.sheet);
    this.#block.material.color.set(paint.room);
    this.#blockLines.material.color.set(paint.room);
    this.#blockLinesHidden.material.color.set(paint.room);
  }

  get #room() {
    return [this.#block, this.#blockLines, this.#blockLinesHidden];
  }

  get #paint(): Paint {
    return this.#dark ? NIGHT : LIGHT;
  }

  show(shown: Case): void {
    const solid = shown.solid;
    const paint = this.#paint;
    const colours = { 0: new Color(paint.inside), 1: new Color(paint.outside), 2: new Color('#ffffff'), 3: new Color(paint.edge) };
    const look = { thick: shown.board.caliper, layers: this.#layers || 1, colours };
    const bends = new Map<string, { bend: Bend; pair: number }[]>();
    solid?.bends.forEach((bend, i) => bends.set(bend.panel, [...(bends.get(bend.panel) ?? []), { bend, pair: i >> 1 }]));
    const keep = new Set<string>();
    for (const from of solid?.panels ?? []) {
      keep.add(from.key);
      let panel = this.#panels.get(from.key);
      if (!panel) {
        panel = new Panel(from.key);
        this.#panels.set(from.key, panel);
        this.#scene.add(panel.group);
        this.#dress(panel);
      }
      panel.fill(from, bends.get(from.key) ?? [], look);
      panel.bend(this.#shapes);
    }
    for (const [key, panel] of this.#panels)
      if (!keep.has(key)) {
        this.#scene.remove(panel.group);
        panel.dispose();
        this.#panels.delete(key);
      }
    if (solid) {
      const low = new Vector3(...solid.room.min);
      const high = new Vector3(...solid.room.max);
      for (const block of this.#room) {
        block.position.addVectors(low, high).multiplyScalar(0.5);
        block.scale.subVectors(high, low);
      }
    }
  }

  showRoom(on: boolean): void {
    for (const block of this.#room) block.visible = on;
  }

  pose({ frames, bends }: Pick<Pose, 'frames' | 'bends'>): void {
    this.#shapes = bends;
    const low = new Vector3(Infinity, Infinity, Infinity);
    const high = new Vector3(-Infinity, -Infinity, -Infinity);
    const corner = new Vector3();
    for (const [key, panel] of this.#panels) {
      const frame = frames[key];
      panel.group.visible = frame !== undefined;
      if (!frame) continue;
      panel.bend(bends);
      panel.group.matrix.copy(matrix(frame));
      panel.group.matrixWorldNeedsUpdate = true;
      for (const c of panel.corners) {
        corner.copy(c).applyMatrix4(panel.group.matrix);
        low.min(corner);
        high.max(corner);
      }
    }
    if (low.x > high.x) return;
    this.#centre.addVectors(low, high).multiplyScalar(0.5);
    this.#half.subVectors(high, low).multiplyScalar(0.5);
  }

  light(panels: readonly string[], places: readonly Place[]): void {
    this.#lit = new Set(panels);
    for (const panel of this.#panels.values()) this.#dress(panel);
    while (this.#marks.children.length > places.length) this.#marks.remove(this.#marks.children.at(-1)!);
    while (this.#marks.children.length < places.length) this.#marks.add(new Mesh(this.#markShape, this.#markPaint));
    places.forEach((place, i) => this.#marks.children[i]!.position.set(...place));
  }

  #dress(panel: Panel): void {
    const lit = this.#lit.has(panel.key);
    panel.mesh.material = lit ? [this.#plainLit, this.#waveLit] : [this.#plain, this.#wave];
    panel.edges.material = lit ? this.#lineLit : this.#line;
  }

  size(wide: number, high: number): void {
    this.#wide = Math.max(1, wide);
    this.#high = Math.max(1, high);
    this.#renderer.setSize(this.#wide, this.#high, false);
    this.#camera.aspect = this.#wide / this.#high;
  }

  home(): void {
    Object.assign(this, HOME);
    this.shift.set(0, 0);
  }

  orbit(turn: number, lift: number): void {
    this.turn += turn;
    this.lift = Math.max(-1.5, Math.min(1.5, this.lift + lift));
    this.draw();
  }

  zoomBy(factor: number): void {
    this.zoom = Math.max(0.4, Math.min(8, this.zoom * factor));
    this.draw();
  }

  slide(dx: number, dy: number): void {
    this.shift.x += dx / this.#high;
    this.shift.y += dy / this.#high;
    this.draw();
  }

  /** Draws in the next frame, however often it is asked. */
  draw(): void {
    if (this.#wanted) return;
    this.#wanted = requestAnimationFrame(() => this.drawNow());
  }

  drawNow(): void {
    cancelAnimationFrame(this.#wanted);
    this.#wanted = 0;
    const tan = Math.tan((this.#camera.fov * Math.PI) / 360);
    const toward = direction(this.turn, this.lift);
    const away = (this.#fit(tan) * 1.07) / this.zoom;
    const reach = this.#half.length();
    this.#camera.up.set(0, 0, 1);
    this.#camera.position.copy(this.#centre).addScaledVector(toward, away);
    this.#camera.near = Math.max(1, away - reach * 1.4);
    this.#camera.far = away + reach * 2;
    this.#camera.lookAt(this.#centre);
    this.#camera.setViewOffset(this.#wide, this.#high, -this.shift.x * this.#high, -this.shift.y * this.#high, this.#wide, this.#high);
    this.#camera.updateMatrixWorld();
    const side = new Vector3(1, 0, 0).applyQuaternion(this.#camera.quaternion);
    this.#lamp.position.copy(toward).addScaledVector(side, -0.55).add(new Vector3(0, 0, 0.7));
    const dot = (2 * tan * away * 5) / this.#high;
    for (const mark of this.#marks.children) mark.scale.setScalar(dot);
    this.#renderer.render(this.#scene, this.#camera);
    this.onDrawn();
  }

  /**
   * How far away the eye must be to see all of it as at first. It does not follow the turning, or
   * the case would swell and shrink under the hand.
   */
  #fit(tan: number): number {
    const toward = direction(HOME.turn, HOME.lift);
    const right = new Vector3(0, 0, 1).cross(toward).normalize();
    const up = toward.clone().cross(right);
    const corner = new Vector3();
    let away = 0;
    for (const x of [-1, 1])
      for (const y of [-1, 1])
        for (const z of [-1, 1]) {
          corner.set(x, y, z).multiply(this.#half);
          const spread = Math.max(Math.abs(corner.dot(right)) / this.#camera.aspect, Math.abs(corner.dot(up))) / tan;
          away = Math.max(away, spread + corner.dot(toward));
        }
    return away;
  }

  /** The panel under a point of the canvas. */
  at(x: number, y: number): string | null {
    this.#caster.setFromCamera(new Vector2((x / this.#wide) * 2 - 1, 1 - (y / this.#high) * 2), this.#camera);
    const meshes = [...this.#panels.values()].filter((p) => p.group.visible).map((p) => p.mesh);
    const hit = this.#caster.intersectObjects(meshes, false)[0];
    return (hit?.object.userData['key'] as string | undefined) ?? null;
  }

  /** Where the middle of a panel is on the canvas. */
  middle(key: string): [number, number] | null {
    const panel = this.#panels.get(key);
    if (!panel?.group.visible) return null;
    const p = panel.centre.clone().applyMatrix4(panel.group.matrix).project(this.#camera);
    return [((p.x + 1) / 2) * this.#wide, ((1 - p.y) / 2) * this.#high];
  }

  /** A picture on white, for paper. */
  snapshot(): string {
    this.#renderer.setClearColor('#ffffff');
    this.drawNow();
    this.#renderer.setClearColor(this.#paint.sheet);
    return this.#renderer.domElement.toDataURL('image/png');
  }

  dispose(): void {
    cancelAnimationFrame(this.#wanted);
    for (const panel of this.#panels.values()) panel.dispose();
    this.#wave.map?.dispose();
    this.#block.geometry.dispose();
    this.#blockLines.geometry.dispose();
    this.#markShape.dispose();
    for (const material of [this.#plain, this.#plainLit, this.#wave, this.#waveLit, this.#line, this.#lineLit, this.#markPaint, this.#block.material, this.#blockLines.material, this.#blockLinesHidden.material])
      material.dispose();
    this.#renderer.dispose();
  }
}

/** A place of the folded case in the coordinates of a flat panel: undoes the panel's frame. */
export function inPanel(frame: readonly number[], place: Place): Place {
  return new Vector3(...place).applyMatrix4(matrix(frame).invert()).toArray() as Place;
}
