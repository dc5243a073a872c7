// The folded case in space: thick panels that keep their buffers, drawn only on demand.
import {
  AmbientLight,
  BoxGeometry,
  BufferAttribute,
  BufferGeometry,
  CanvasTexture,
  Color,
  DirectionalLight,
  DoubleSide,
  EdgesGeometry,
  Group,
  LineBasicMaterial,
  LineSegments,
  Matrix4,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  PerspectiveCamera,
  Raycaster,
  RepeatWrapping,
  Scene,
  SphereGeometry,
  SRGBColorSpace,
  Vector2,
  Vector3,
  WebGLRenderer,
} from 'three';
import type { Case, Frames, Place, Solid, SolidPanel } from '../wire';

export interface Pose {
  stage: number;
  step: number;
  frames: Frames;
}

/** All poses that the server sent, in the order of folding. */
export function poses(solid: Solid): Pose[] {
  return solid.stages.flatMap((stage, i) => [
    ...(solid.steps[i] ?? []).map((step, k) => ({ stage: i, step: k + 1, frames: step.frames })),
    { stage: i, step: 0, frames: stage.frames },
  ]);
}

interface Paint {
  inside: string;
  outside: string;
  edge: string;
  flute: string;
  line: string;
  lit: string;
  litLine: string;
  place: string;
  room: string;
  sheet: string;
}

const LIGHT: Paint = {
  inside: '#e3cda6',
  outside: '#cfae7d',
  edge: '#b8945f',
  flute: '#5d4526',
  line: '#5a4427',
  lit: '#2fa3ab',
  litLine: '#063a3f',
  place: '#d3242f',
  room: '#3d7fd0',
  sheet: '#ffffff',
};
const NIGHT: Paint = { ...LIGHT, inside: '#d8bf94', outside: '#bf9b67', line: '#2b1f10', lit: '#3cbcc4', room: '#79b2f5', place: '#ff5b5f', sheet: '#162122' };

/** Turn of the view when nobody has turned it: from the front, above, a little to the right. */
const HOME = { turn: -0.62, lift: 0.5, zoom: 1 };

/** Corrugated board seen on its cut edge: liners with the medium waving between them. */
function waves(paint: Paint, layers: number): CanvasTexture {
  const wide = 64;
  const high = 64 * layers;
  const canvas = document.createElement('canvas');
  canvas.width = wide;
  canvas.height = high;
  const pen = canvas.getContext('2d')!;
  pen.fillStyle = paint.flute;
  pen.fillRect(0, 0, wide, high);
  pen.strokeStyle = paint.inside;
  pen.lineWidth = 9;
  for (let layer = 0; layer < layers; layer++) {
    pen.beginPath();
    for (let x = -4; x <= wide + 4; x += 2) {
      const y = layer * 64 + 32 + 22 * Math.sin((x / wide) * 2 * Math.PI);
      if (x === -4) pen.moveTo(x, y);
      else pen.lineTo(x, y);
    }
    pen.stroke();
  }
  pen.fillStyle = paint.inside;
  for (let layer = 0; layer <= layers; layer++) pen.fillRect(0, layer * 64 - 7, wide, 14);
  const texture = new CanvasTexture(canvas);
  texture.wrapS = texture.wrapT = RepeatWrapping;
  texture.colorSpace = SRGBColorSpace;
  texture.anisotropy = 4;
  return texture;
}

class Panel {
  readonly mesh: Mesh<BufferGeometry, (MeshLambertMaterial)[]>;
  readonly edges: LineSegments<BufferGeometry, LineBasicMaterial>;
  readonly group = new Group();
  readonly centre = new Vector3();
  readonly corners: Vector3[] = [];

  constructor(readonly key: string) {
    this.mesh = new Mesh(new BufferGeometry(), []);
    this.edges = new LineSegments(new BufferGeometry(), undefined as unknown as LineBasicMaterial);
    this.mesh.userData['key'] = key;
    this.group.add(this.mesh, this.edges);
    this.group.matrixAutoUpdate = false;
    this.mesh.matrixAutoUpdate = this.edges.matrixAutoUpdate = false;
  }

  /** Fills the buffers, growing them only when they are too small. */
  fill(from: SolidPanel, thick: number, layers: number, colours: Record<number, Color>): void {
    const count = from.indices.length;
    const geometry = this.mesh.geometry;
    const position = room(geometry, 'position', count, 3);
    const normal = room(geometry, 'normal', count, 3);
    const colour = room(geometry, 'color', count, 3);
    const uv = room(geometry, 'uv', count, 2);
    const pitch = (thick / layers) * 1.9;
    const order = [...from.kinds.keys()].sort((a, b) => Number(from.kinds[a] === 2) - Number(from.kinds[b] === 2));
    const plain = from.kinds.filter((k) => k !== 2).length;
    const a = new Vector3();
    const b = new Vector3();
    const c = new Vector3();
    const n = new Vector3();
    let at = 0;
    for (const triangle of order) {
      const kind = from.kinds[triangle] ?? 1;
      const [ia, ib, ic] = [0, 1, 2].map((k) => from.indices[triangle * 3 + k]! * 3) as [number, number, number];
      a.fromArray(from.positions, ia);
      b.fromArray(from.positions, ib);
      c.fromArray(from.positions, ic);
      n.subVectors(b, a).cross(c.clone().sub(a)).normalize();
      const tint = colours[kind] ?? colours[1]!;
      for (const v of [a, b, c]) {
        v.toArray(position.array, at * 3);
        n.toArray(normal.array, at * 3);
        colour.setXYZ(at, tint.r, tint.g, tint.b);
        // Along the edge in the plane of the board, and through its thickness.
        uv.setXY(at, (v.y * n.x - v.x * n.y) / pitch, v.z / thick);
        at += 1;
      }
    }
    for (const attribute of [position, normal, colour, uv]) attribute.needsUpdate = true;
    geometry.clearGroups();
    geometry.addGroup(0, plain * 3, 0);
    geometry.addGroup(plain * 3, count - plain * 3, 1);
    geometry.setDrawRange(0, count);
    geometry.boundingSphere = null;

    const lines = room(this.edges.geometry, 'position', from.edges.length / 3, 3);
    lines.array.set(from.edges);
    lines.needsUpdate = true;
    this.edges.geometry.setDrawRange(0, from.edges.length / 3);

    const low = new Vector3(Infinity, Infinity, Infinity);
    const high = new Vector3(-Infinity, -Infinity, -Infinity);
    for (let i = 0; i + 2 < from.positions.length; i += 3) {
      a.fromArray(from.positions, i);
      low.min(a);
      high.max(a);
    }
    this.centre.addVectors(low, high).multiplyScalar(0.5);
    this.corners.length = 0;
    for (const x of [low.x, high.x]) for (const y of [low.y, high.y]) for (const z of [low.z, high.z]) this.corners.push(new Vector3(x, y, z));
    // A grown buffer has a spare part, which a bounding sphere would take in.
    this.mesh.frustumCulled = this.edges.frustumCulled = false;
  }

  dispose(): void {
    this.mesh.geometry.dispose();
    this.edges.geometry.dispose();
  }
}

function room(geometry: BufferGeometry, name: string, count: number, size: number): BufferAttribute {
  const had = geometry.getAttribute(name) as BufferAttribute | undefined;
  if (had && had.count >= count) return had;
  if (had) geometry.dispose();
  const made = new BufferAttribute(new Float32Array(Math.ceil(count * 1.25) * size), size);
  geometry.setAttribute(name, made);
  return made;
}

function matrix(frame: readonly number[]): Matrix4 {
  const [a, b, c, d, e, f, g, h, i, x, y, z] = frame as [number, number, number, number, number, number, number, number, number, number, number, number];
  return new Matrix4(a, d, g, x, b, e, h, y, c, f, i, z, 0, 0, 0, 1);
}

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
  readonly #plain = new MeshLambertMaterial({ vertexColors: true, side: DoubleSide });
  readonly #plainLit = new MeshLambertMaterial({ side: DoubleSide });
  readonly #wave = new MeshLambertMaterial({ side: DoubleSide });
  readonly #waveLit = new MeshLambertMaterial({ side: DoubleSide });
  readonly #line = new LineBasicMaterial();
  readonly #lineLit = new LineBasicMaterial();
  readonly #block: Mesh<BoxGeometry, MeshBasicMaterial>;
  /** What of the block is behind board: a breath of it shows through. */
  readonly #blockHidden: Mesh<BoxGeometry, MeshBasicMaterial>;
  readonly #blockLines: LineSegments<EdgesGeometry, LineBasicMaterial>;
  readonly #marks = new Group();
  readonly #markShape = new SphereGeometry(1, 16, 12);
  readonly #markPaint = new MeshBasicMaterial({ depthTest: false, transparent: true });
  readonly #centre = new Vector3();
  readonly #half = new Vector3(1, 1, 1);
  #layers = 0;
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
    this.#blockHidden = new Mesh(unit, new MeshBasicMaterial({ transparent: true, opacity: 0.05, depthWrite: false, depthTest: false }));
    this.#blockHidden.renderOrder = 1;
    this.#blockLines = new LineSegments(new EdgesGeometry(unit), new LineBasicMaterial({ transparent: true, opacity: 0.9, depthTest: false }));
    this.#block.renderOrder = 2;
    this.#blockLines.renderOrder = 3;
    this.#marks.renderOrder = 4;
    this.#scene.add(this.#block, this.#blockHidden, this.#blockLines, this.#marks);
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
    this.#blockHidden.material.color.set(paint.room);
    this.#blockLines.material.color.set(paint.room);
  }

  get #paint(): Paint {
    return this.#dark ? NIGHT : LIGHT;
  }

  show(shown: Case): void {
    const solid = shown.solid;
    const paint = this.#paint;
    const colours = { 0: new Color(paint.inside), 1: new Color(paint.outside), 2: new Color('#ffffff'), 3: new Color(paint.edge) };
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
      panel.fill(from, shown.board.caliper, this.#layers || 1, colours);
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
      for (const block of [this.#block, this.#blockHidden, this.#blockLines]) {
        block.position.addVectors(low, high).multiplyScalar(0.5);
        block.scale.subVectors(high, low);
      }
    }
  }

  showRoom(on: boolean): void {
    this.#block.visible = this.#blockHidden.visible = this.#blockLines.visible = on;
  }

  pose(frames: Frames): void {
    const low = new Vector3(Infinity, Infinity, Infinity);
    const high = new Vector3(-Infinity, -Infinity, -Infinity);
    const corner = new Vector3();
    for (const [key, panel] of this.#panels) {
      const frame = frames[key];
      panel.group.visible = frame !== undefined;
      if (!frame) continue;
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
    for (const material of [this.#plain, this.#plainLit, this.#wave, this.#waveLit, this.#line, this.#lineLit, this.#markPaint, this.#block.material, this.#blockHidden.material, this.#blockLines.material])
      material.dispose();
    this.#renderer.dispose();
  }
}

/** A place of the folded case in the coordinates of a flat panel: undoes the panel's frame. */
export function inPanel(frame: readonly number[], place: Place): Place {
  return new Vector3(...place).applyMatrix4(matrix(frame).invert()).toArray() as Place;
}
