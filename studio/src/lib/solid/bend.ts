// Half of the board at a crease: the ring that the server gives for an angle, drawn out along the
// crease. It moves with the panel it belongs to.
import { BufferAttribute, BufferGeometry, Color, LineBasicMaterial, LineSegments, Mesh, MeshLambertMaterial, Vector3 } from 'three';
import type { Bend } from '../../wire';

/** Two triangles for each of the two faces and the two ends. */
const CORNERS = 24;
const LINE_ENDS = 12;

export class Half {
  readonly mesh: Mesh<BufferGeometry, MeshLambertMaterial[]>;
  readonly edges: LineSegments<BufferGeometry, LineBasicMaterial>;
  #shown: readonly number[] | null = null;

  constructor(key: string) {
    const board = new BufferGeometry();
    for (const [name, size] of [['position', 3], ['normal', 3], ['color', 3], ['uv', 2]] as const)
      board.setAttribute(name, new BufferAttribute(new Float32Array(CORNERS * size), size));
    const lines = new BufferGeometry();
    lines.setAttribute('position', new BufferAttribute(new Float32Array(LINE_ENDS * 3), 3));
    this.mesh = new Mesh(board, []);
    this.edges = new LineSegments(lines, undefined as unknown as LineBasicMaterial);
    this.mesh.userData['key'] = key;
    this.mesh.matrixAutoUpdate = this.edges.matrixAutoUpdate = false;
    this.mesh.frustumCulled = this.edges.frustumCulled = false;
  }

  /** Takes on a shape; with the same one as before there is nothing to do. */
  fill(bend: Bend, shape: number, thick: number, layers: number, colours: Record<number, Color>): void {
    const numbers = bend.shapes[shape];
    if (!numbers || numbers === this.#shown) return;
    this.#shown = numbers;
    const along = new Vector3(...bend.along);
    const near = [0, 3, 6, 9].map((k) => new Vector3().fromArray(numbers, k));
    const far = near.map((p) => p.clone().add(along));
    const geometry = this.mesh.geometry;
    const [position, normal, colour, uv] = (['position', 'normal', 'color', 'uv'] as const).map((n) => geometry.getAttribute(n) as BufferAttribute) as [
      BufferAttribute,
      BufferAttribute,
      BufferAttribute,
      BufferAttribute,
    ];
    const pitch = (thick / layers) * 1.9;
    // Corners run one way or the other round the crease; outward has to be outward.
    const turn = new Vector3().subVectors(near[2]!, near[0]!).cross(new Vector3().subVectors(near[3]!, near[1]!)).dot(along) >= 0;
    let at = 0;
    const quad = (corners: Vector3[], tint: Color) => {
      const [a, b, c, d] = (turn ? corners : [...corners].reverse()) as [Vector3, Vector3, Vector3, Vector3];
      // The diagonals: sound where two corners are one.
      const n = new Vector3().subVectors(c, a).cross(new Vector3().subVectors(d, b)).normalize();
      for (const v of [a, b, c, a, c, d]) {
        v.toArray(position.array, at * 3);
        n.toArray(normal.array, at * 3);
        colour.setXYZ(at, tint.r, tint.g, tint.b);
        uv.setXY(at, (v.y * n.x - v.x * n.y) / pitch, v.z / thick);
        at += 1;
      }
    };
    const face = (which: Bend['inner']) => colours[which === 'inside' ? 0 : 1]!;
    quad([near[3]!, near[0]!, far[0]!, far[3]!], face(bend.inner));
    quad([near[1]!, near[2]!, far[2]!, far[1]!], face(bend.outer));
    const cut = colours[bend.fluted ? 2 : 3]!;
    quad(far, cut);
    quad([...near].reverse(), cut);
    geometry.clearGroups();
    geometry.addGroup(0, 12, 0);
    geometry.addGroup(12, 12, bend.fluted ? 1 : 0);
    for (const attribute of [position, normal, colour, uv]) attribute.needsUpdate = true;

    const line = this.edges.geometry.getAttribute('position') as BufferAttribute;
    const ends = [near[2], far[2], near[3], far[3], near[1], near[2], near[0], near[3], far[1], far[2], far[0], far[3]];
    ends.forEach((p, i) => p!.toArray(line.array, i * 3));
    line.needsUpdate = true;
  }

  /** The next shape is drawn even if it is the same. */
  forget(): void {
    this.#shown = null;
  }

  dispose(): void {
    this.mesh.geometry.dispose();
    this.edges.geometry.dispose();
  }
}
