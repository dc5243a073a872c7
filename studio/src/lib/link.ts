// A link holds the whole state: JSON as base64url behind the `#`, and nothing is kept elsewhere.
import type { State, Unit } from '../wire';

export type Theme = 'system' | 'light' | 'dark';

export interface Linked {
  state: State;
  unit: Unit;
  theme: Theme;
}

export function encode(linked: Linked): string {
  const bytes = new TextEncoder().encode(JSON.stringify({ ...linked.state, view: { unit: linked.unit, theme: linked.theme } }));
  let binary = '';
  for (const byte of bytes) binary += String.fromCharCode(byte);
  return btoa(binary).replaceAll('+', '-').replaceAll('/', '_').replace(/=+$/, '');
}

const isWord = (v: unknown): v is string => typeof v === 'string' && v.length < 400;
const isObject = (v: unknown): v is Record<string, unknown> => typeof v === 'object' && v !== null && !Array.isArray(v);

/** Reads a link from anywhere: whatever has not the expected shape is left at its start value. */
export function decode(text: string, start: State): Linked | null {
  let read: unknown;
  try {
    const binary = atob(text.replaceAll('-', '+').replaceAll('_', '/'));
    read = JSON.parse(new TextDecoder().decode(Uint8Array.from(binary, (c) => c.charCodeAt(0))));
  } catch {
    return null;
  }
  if (!isObject(read) || !isWord(read['style'])) return null;
  const word = (v: unknown, otherwise: string) => (isWord(v) ? v : otherwise);
  const inside = isObject(read['inside']) ? read['inside'] : {};
  const set: Record<string, string> = {};
  if (isObject(read['set'])) for (const [k, v] of Object.entries(read['set'])) if (isWord(v)) set[k] = v;
  const ways = ['hand', 'wheel', 'rule', 'perforated'] as const;
  const state: State = {
    ...start,
    title: word(read['title'], start.title),
    style: read['style'],
    inside: {
      length: word(inside['length'], start.inside.length),
      width: word(inside['width'], start.inside.width),
      depth: word(inside['depth'], start.inside.depth),
    },
    board: word(read['board'], start.board),
    crease: ways.find((w) => w === (read as Record<string, unknown>)['crease']) ?? start.crease,
    set,
  };
  if (isWord(read['caliper'])) state.caliper = read['caliper'];
  const axis = read['axisDepth'];
  if (isObject(axis) && typeof axis['along'] === 'number' && typeof axis['across'] === 'number')
    state.axisDepth = { along: axis['along'], across: axis['across'] };
  for (const key of ['sheet', 'bed'] as const) {
    const pair = read[key];
    if (Array.isArray(pair) && pair.length === 2 && isWord(pair[0]) && isWord(pair[1])) state[key] = [pair[0], pair[1]];
  }
  if (typeof read['quantity'] === 'number' && read['quantity'] >= 1) state.quantity = Math.floor(read['quantity']);
  if (read['noMeasured'] === true) state.noMeasured = true;
  if (isWord(read['job'])) state.job = read['job'];
  if (Array.isArray(read['boardFiles'])) state.boardFiles = read['boardFiles'].filter(isWord);
  if (Array.isArray(read['fitments'])) state.fitments = read['fitments'].filter(isWord);
  if (Array.isArray(read['contents'])) state.contents = read['contents'].filter(isWord);
  if (Array.isArray(read['splits'])) state.splits = read['splits'].filter(isWord);
  if (Array.isArray(read['marks'])) state.marks = read['marks'].filter(isWord);
  const drawing = read['drawing'];
  if (isObject(drawing)) {
    const kept = { ...start.drawing };
    for (const key of Object.keys(kept) as (keyof typeof kept)[]) kept[key] = word(drawing[key], kept[key]);
    state.drawing = kept;
  }
  const view = isObject(read['view']) ? read['view'] : {};
  return {
    state,
    unit: view['unit'] === 'in' ? 'in' : 'mm',
    theme: view['theme'] === 'light' || view['theme'] === 'dark' ? view['theme'] : 'system',
  };
}
