// From the folded case back onto the flat blank.
import { inPanel } from './solid';
import type { Case, Piece, Place, Point } from '../wire';

type Home = (p: Place) => Point;

/**
 * How a piece lies on the page: the turn that brings its flat panels in space onto the outlines
 * of the drawing. There are four, as blanks are drawn square; the one whose middles agree is it.
 */
export function homesOf(shown: Case): Map<string, Home> {
  const made = new Map<string, Home>();
  const solid = shown.solid;
  if (!solid) return made;
  const flat = solid.stages[0]?.frames ?? {};
  for (const piece of shown.pieces) {
    const panels = solid.panels.filter((p) => p.piece === piece.name && flat[p.key]);
    const first = panels[0] && flat[panels[0].key];
    if (!first) continue;
    const [right, up] = [first.slice(0, 3), first.slice(3, 6)];
    const dot = (a: readonly number[], b: readonly number[]) => a[0]! * b[0]! + a[1]! * b[1]! + a[2]! * b[2]!;
    const plane = (p: Place): Point => [dot(right, p), -dot(up, p)];
    const turns: ((p: Point) => Point)[] = [([x, y]) => [x, y], ([x, y]) => [-y, x], ([x, y]) => [-x, -y], ([x, y]) => [y, -x]];
    const corners = (panel: (typeof panels)[number]) => {
      const all: Point[] = [];
      for (let i = 0; i + 2 < panel.positions.length; i += 3)
        all.push(plane(spread(flat[panel.key]!, [panel.positions[i]!, panel.positions[i + 1]!, 0])));
      return all;
    };
    const clouds = panels.map((panel) => ({ key: panel.key, points: corners(panel) }));
    let best = Infinity;
    for (const turn of turns) {
      const turned = clouds.map((c) => ({ key: c.key, points: c.points.map(turn) }));
      const everything = turned.flatMap((c) => c.points);
      const low: Point = [Math.min(...everything.map((p) => p[0])), Math.min(...everything.map((p) => p[1]))];
      const to: Point = [piece.bounds[0] - low[0], piece.bounds[1] - low[1]];
      let off = 0;
      for (const c of turned) {
        const label = piece.panels.find((p) => p.key === c.key)?.label;
        if (!label) continue;
        const x = c.points.map((p) => p[0] + to[0]);
        const y = c.points.map((p) => p[1] + to[1]);
        off += Math.abs((Math.min(...x) + Math.max(...x)) / 2 - label[0]) + Math.abs((Math.min(...y) + Math.max(...y)) / 2 - label[1]);
      }
      if (off < best) {
        best = off;
        made.set(piece.name, (p) => {
          const q = turn(plane(p));
          return [q[0] + to[0], q[1] + to[1]];
        });
      }
    }
  }
  return made;
}

/** Places of a lit finding on the blank: out of the folded panel, back onto the flat one. */
export function placesOn(shown: Case, homes: Map<string, Home>, light: { panels: readonly string[]; places: readonly Place[]; stage: number | null }): { piece: Piece; at: Point }[] {
  const { panels, places: found, stage } = light;
  const solid = shown.solid;
  if (!solid || found.length === 0) return [];
  const folded = solid.stages[stage ?? solid.stages.length - 1] ?? solid.stages.at(-1)!;
  const list: { piece: Piece; at: Point }[] = [];
  for (const key of panels) {
    const piece = shown.pieces.find((p) => p.panels.some((panel) => panel.key === key));
    const home = piece && homes.get(piece.name);
    const frame = folded.frames[key];
    const flat = solid.stages[0]?.frames[key];
    if (!piece || !home || !frame || !flat) continue;
    const panel = solid.panels.find((p) => p.key === key);
    const reach = extent(panel?.positions ?? []);
    for (const place of found) {
      const p = inPanel(frame, place);
      const near = 2;
      if (p.some((v, i) => v < reach[0][i]! - near || v > reach[1][i]! + near)) continue;
      list.push({ piece, at: home(spread(flat, [p[0], p[1], 0])) });
    }
  }
  return list;
}

function extent(positions: readonly number[]): [number[], number[]] {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  positions.forEach((v, i) => {
    low[i % 3] = Math.min(low[i % 3]!, v);
    high[i % 3] = Math.max(high[i % 3]!, v);
  });
  return [low, high];
}

function spread(frame: readonly number[], p: Place): Place {
  return [0, 1, 2].map((i) => frame[i]! * p[0] + frame[3 + i]! * p[1] + frame[6 + i]! * p[2] + frame[9 + i]!) as Place;
}
