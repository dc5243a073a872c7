// Half of the board at a crease: the ring that the server gives for an angle, drawn out along the
// crease. It is written into the buffers of the panel it moves with.
import { type BufferAttribute, type Color, Vector3 } from 'three';
import type { Bend } from '../../wire';

/** Corners of its two faces, of its two ends, and ends of its lines. */
export const FACES = 12;
export const ENDS = 12;
export const LINE_ENDS = 12;

export interface Buffers {
  position: BufferAttribute;
  normal: BufferAttribute;
  color: BufferAttribute;
  uv: BufferAttribute;
  lines: BufferAttribute;
}

export interface Look {
  thick: number;
  layers: number;
  /** By kind of face: inside, outside, an edge across the flutes, one along them. */
  colours: Record<number, Color>;
}

/** Where in the buffers a half lies. */
export interface Place {
  faces: number;
  ends: number;
  lines: number;
}

export function writeBend(bend: Bend, numbers: readonly number[], into: Buffers, place: Place, look: Look): void {
  const along = new Vector3(...bend.along);
  const near = [0, 3, 6, 9].map((k) => new Vector3().fromArray(numbers, k)) as [Vector3, Vector3, Vector3, Vector3];
  const far = near.map((p) => p.clone().add(along)) as [Vector3, Vector3, Vector3, Vector3];
  const pitch = (look.thick / look.layers) * 1.9;
  // Corners run one way or the other round the crease; outward has to be outward.
  const turn = new Vector3().subVectors(near[2], near[0]).cross(new Vector3().subVectors(near[3], near[1])).dot(along) >= 0;
  const { position, normal, color, uv } = into;
  const quad = (start: number, corners: Vector3[], tint: Color) => {
    const [a, b, c, d] = (turn ? corners : [...corners].reverse()) as [Vector3, Vector3, Vector3, Vector3];
    // The diagonals: sound where two corners are one.
    const n = new Vector3().subVectors(c, a).cross(new Vector3().subVectors(d, b)).normalize();
    [a, b, c, a, c, d].forEach((v, k) => {
      const at = start + k;
      v.toArray(position.array, at * 3);
      n.toArray(normal.array, at * 3);
      color.setXYZ(at, tint.r, tint.g, tint.b);
      uv.setXY(at, (v.y * n.x - v.x * n.y) / pitch, v.z / look.thick);
    });
  };
  const face = (which: Bend['inner']) => look.colours[which === 'inside' ? 0 : 1]!;
  quad(place.faces, [near[3], near[0], far[0], far[3]], face(bend.inner));
  quad(place.faces + 6, [near[1], near[2], far[2], far[1]], face(bend.outer));
  const cut = look.colours[bend.fluted ? 2 : 3]!;
  quad(place.ends, far, cut);
  quad(place.ends + 6, [...near].reverse(), cut);
  const ends = [near[2], far[2], near[3], far[3], near[1], near[2], near[0], near[3], far[1], far[2], far[0], far[3]];
  ends.forEach((p, k) => p.toArray(into.lines.array, (place.lines + k) * 3));
}
