// A panel in space: a thick slab that keeps its buffers from one case to the next.
import { BufferAttribute, BufferGeometry, Group, LineBasicMaterial, LineSegments, Matrix4, Mesh, MeshLambertMaterial, Vector3 } from 'three';
import type { Bend, SolidPanel } from '../../wire';
import { type Buffers, ENDS, FACES, LINE_ENDS, type Look, type Place, writeBend } from './bend';

/** A half of a bend, which pair it is of, where it lies in the buffers, and what stands there. */
interface Half {
  bend: Bend;
  pair: number;
  place: Place;
  shown: readonly number[] | null;
}

export class Panel {
  readonly mesh: Mesh<BufferGeometry, MeshLambertMaterial[]>;
  readonly edges: LineSegments<BufferGeometry, LineBasicMaterial>;
  readonly group = new Group();
  readonly centre = new Vector3();
  readonly corners: Vector3[] = [];
  /** The board at its creases, as far as it goes with this panel. */
  #halves: Half[] = [];
  #buffers: Buffers | null = null;
  #look: Look | null = null;

  constructor(readonly key: string) {
    this.mesh = new Mesh(new BufferGeometry(), []);
    this.edges = new LineSegments(new BufferGeometry(), undefined as unknown as LineBasicMaterial);
    this.mesh.userData['key'] = key;
    this.group.add(this.mesh, this.edges);
    this.group.matrixAutoUpdate = false;
    this.mesh.matrixAutoUpdate = this.edges.matrixAutoUpdate = false;
  }

  /**
   * Fills the buffers, growing them only when they are too small. In them lie the slab's plain
   * triangles, then those of the bends, plain before fluted, then the slab's fluted ones: two
   * ranges for the two materials.
   */
  fill(from: SolidPanel, bends: readonly { bend: Bend; pair: number }[], look: Look): void {
    const { thick, layers, colours } = look;
    const flat = bends.length * FACES + bends.filter((b) => !b.bend.fluted).length * ENDS;
    const fluted = bends.filter((b) => b.bend.fluted).length * ENDS;
    const plain = from.kinds.filter((k) => k !== 2).length * 3;
    const count = from.indices.length + flat + fluted;
    const geometry = this.mesh.geometry;
    const position = room(geometry, 'position', count, 3);
    const normal = room(geometry, 'normal', count, 3);
    const colour = room(geometry, 'color', count, 3);
    const uv = room(geometry, 'uv', count, 2);
    const pitch = (thick / layers) * 1.9;
    const order = [...from.kinds.keys()].sort((a, b) => Number(from.kinds[a] === 2) - Number(from.kinds[b] === 2));
    const a = new Vector3();
    const b = new Vector3();
    const c = new Vector3();
    const n = new Vector3();
    let at = 0;
    for (const triangle of order) {
      if (at === plain) at += flat + fluted;
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
    geometry.addGroup(0, plain + flat, 0);
    geometry.addGroup(plain + flat, count - plain - flat, 1);
    geometry.setDrawRange(0, count);
    geometry.boundingSphere = null;

    const own = from.edges.length / 3;
    const lines = room(this.edges.geometry, 'position', own + bends.length * LINE_ENDS, 3);
    lines.array.set(from.edges);
    lines.needsUpdate = true;
    this.edges.geometry.setDrawRange(0, own + bends.length * LINE_ENDS);
    this.#buffers = { position, normal, color: colour, uv, lines };
    this.#look = look;
    let [faces, cuts, waves] = [plain, plain + bends.length * FACES, plain + flat];
    this.#halves = bends.map(({ bend, pair }, k) => {
      const place = { faces, ends: bend.fluted ? waves : cuts, lines: own + k * LINE_ENDS };
      faces += FACES;
      if (bend.fluted) waves += ENDS;
      else cuts += ENDS;
      return { bend, pair, place, shown: null };
    });

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

  /** Gives each bend the shape it has in a pose; those that keep theirs are left alone. */
  bend(shapes: readonly number[]): void {
    if (!this.#buffers || !this.#look) return;
    let written = false;
    for (const half of this.#halves) {
      const numbers = half.bend.shapes[shapes[half.pair] ?? 0];
      if (!numbers || numbers === half.shown) continue;
      writeBend(half.bend, numbers, this.#buffers, half.place, this.#look);
      half.shown = numbers;
      written = true;
    }
    if (written) for (const attribute of Object.values(this.#buffers) as BufferAttribute[]) attribute.needsUpdate = true;
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

export function matrix(frame: readonly number[]): Matrix4 {
  const [a, b, c, d, e, f, g, h, i, x, y, z] = frame as [number, number, number, number, number, number, number, number, number, number, number, number];
  return new Matrix4(a, d, g, x, b, e, h, y, c, f, i, z, 0, 0, 0, 1);
}
