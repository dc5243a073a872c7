// Where things of the flat view go. Places are those of the server; what is worked out here is only
// how they are laid on the screen, in pixels.
import type { Case, Dimension, Piece, Point, Unit } from '../wire';

/** Pixels from the blank to the first row of sizes, and from row to row. */
export const FIRST = 13;
export const ROW = 18;

export interface Placed {
  list: { piece: Piece; at: Point }[];
  wide: number;
  high: number;
}

/** Pieces side by side; the space between is for the eye only. */
export function sideBySide(shown: Case | null): Placed {
  const pieces = shown?.pieces ?? [];
  let x = 0;
  let top = 0;
  const tallest = Math.max(0, ...pieces.map((p) => p.bounds[3] - p.bounds[1]));
  const list = pieces.map((piece) => {
    const [x0, y0, x1, y1] = piece.bounds;
    const at: Point = [x - x0, (tallest - (y1 - y0)) / 2 - y0];
    x += x1 - x0 + tallest * 0.16 + 20;
    top = Math.max(top, y1 - y0);
    return { piece, at };
  });
  const last = list.at(-1);
  return { list, wide: last ? last.at[0] + last.piece.bounds[2] : 100, high: top || 100 };
}

export function sideOf(d: Dimension, piece: Piece): 'left' | 'right' | 'top' | 'bottom' {
  const [x0, y0, x1, y1] = piece.bounds;
  if (d.axis === 'x') return d.at[1] >= (y0 + y1) / 2 ? 'bottom' : 'top';
  return d.at[0] >= (x0 + x1) / 2 ? 'right' : 'left';
}

/** How wide and high an outline is, so that its name can be laid along its longer side. */
export function spanOf(d: string): Point {
  const low = [Infinity, Infinity];
  const high = [-Infinity, -Infinity];
  for (const [, command, rest] of d.matchAll(/([A-Z])([^A-Z]*)/g)) {
    const n = rest!.match(/-?[\d.]+(?:e-?\d+)?/g)?.map(Number) ?? [];
    // An arc ends at its last two figures; those before are its radii and flags.
    for (let i = command === 'A' ? 5 : 0; i + 1 < n.length; i += command === 'A' ? 7 : 2)
      [0, 1].forEach((k) => {
        low[k] = Math.min(low[k]!, n[i + k]!);
        high[k] = Math.max(high[k]!, n[i + k]!);
      });
  }
  return [high[0]! - low[0]!, high[1]! - low[1]!];
}

/** Where a dimension's line, ticks and text go: rows are kept apart by pixels, not by millimetres. */
export function lay(d: Dimension, piece: Piece, pixel: number, unit: Unit) {
  const [x0, y0, x1, y1] = piece.bounds;
  const along = d.axis === 'x';
  const [low, high] = along ? [y0, y1] : [x0, x1];
  const side = sideOf(d, piece);
  const far = side === 'bottom' || side === 'right';
  const off = (FIRST + d.row * ROW) * pixel;
  const line = far ? high + off : low - off;
  const [a, b] = along ? [d.from[0], d.to[0]] : [d.from[1], d.to[1]];
  const text = unit === 'mm' ? d.text_mm : d.text_in;
  const room = Math.abs(b - a) / pixel;
  const half = ((text.length * 6.4 + 8) * pixel) / 2;
  const fits = room > text.length * 6.4 + 12;
  const middle = (a + b) / 2;
  const sign = far ? 1 : -1;
  const start = (far ? high : low) + sign * 4 * pixel;
  const end = line + sign * 4 * pixel;
  // A size too narrow to read gives way to the others of its row.
  let path = '';
  if (room >= 7) {
    const spans = fits ? [[a, middle - half], [middle + half, b]] : [[a, b]];
    path = along
      ? `M${a} ${start}V${end}M${b} ${start}V${end}` + spans.map(([p, q]) => `M${p} ${line}H${q}`).join('')
      : `M${start} ${a}H${end}M${start} ${b}H${end}` + spans.map(([p, q]) => `M${line} ${p}V${q}`).join('');
  }
  return { fits, text, path, x: along ? middle : 0, y: along ? line : 0, turned: along ? null : `translate(${line} ${middle}) rotate(-90)` };
}
