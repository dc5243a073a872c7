// The shapes that pass between the page and the server, one file to change when they do.
// Lengths in millimetres, angles in degrees, masses in kilograms.

export type Unit = 'mm' | 'in';
export type Verdict = 'pass' | 'caution' | 'fail';
export type Crease = 'hand' | 'wheel' | 'rule' | 'perforated';
export type Point = [number, number];
export type Place = [number, number, number];

export interface State {
  title: string;
  style: string;
  inside: { length: string; width: string; depth: string };
  board: string;
  crease: Crease;
  set: Record<string, string>;
  caliper?: string;
  axisDepth?: { along: number; across: number };
  sheet?: [string, string];
  bed?: [string, string];
  quantity: number;
  drawing: { owner: string; creator: string; approved: string; number: string; date: string };
  job?: string;
  boardFiles?: string[];
}

export interface Style {
  name: string;
  title: string;
  code: string | null;
  purpose: string;
  tags: string[];
  parameters: { name: string; help: string; kind: string; choices: string[] }[];
}

export interface Board {
  name: string;
  title: string;
  caliper: number;
  wall: string;
}

export interface FieldError {
  field: string;
  code: string;
  message: string;
  help: string | null;
  start: number;
  end: number;
}

export interface Parameter {
  name: string;
  help: string;
  kind: 'length' | 'angle' | 'number' | 'choice';
  choices: string[];
  value: number | null;
  word: string | null;
  shown: string;
  min: number | null;
  max: number | null;
  isDefault: boolean;
  default: string;
  panels: string[];
}

export type LineUse = 'cut' | 'crease-inward' | 'crease-outward' | 'perforation' | 'engrave' | 'board';

export interface FlatPanel {
  key: string;
  name: string;
  outline: string;
  label: Point;
  breadth: number;
  reach: number;
}

export interface Dimension {
  from: Point;
  to: Point;
  at: Point;
  row: number;
  text_mm: string;
  text_in: string;
  axis: 'x' | 'y';
}

export interface Figures {
  length: number;
  width: number;
  area: number;
  cut: number;
  crease: number;
  perforation: number;
  mass: number;
}

export interface Piece {
  name: string;
  figures: Figures;
  flutes: Point;
  bounds: [number, number, number, number];
  panels: FlatPanel[];
  lines: { use: LineUse; d: string }[];
  dimensions: Dimension[];
}

export interface SolidPanel {
  key: string;
  name: string;
  piece: string;
  positions: number[];
  indices: number[];
  kinds: number[];
  edges: number[];
}

export type Frames = Record<string, number[]>;

export interface Stage {
  title: string;
  text: string;
  frames: Frames;
  moved: string[];
}

export interface Solid {
  panels: SolidPanel[];
  room: { min: Place; max: Place };
  stages: Stage[];
  steps: { share: number; frames: Frames }[][];
}

export interface Both {
  mm: string;
  in: string;
}

export interface Finding {
  code: string;
  verdict: Verdict;
  message: string;
  measured: Both | null;
  limit: Both | null;
  panels: string[];
  places: Place[];
  cure: string | null;
  fix: { set: Record<string, string>; label: string } | null;
  stage: number | null;
}

export interface Output {
  kind: string;
  label: string;
  names: string[];
}

export interface Case {
  title: string;
  style: { name: string; title: string; code: string | null };
  asked: Place;
  found: Place | null;
  board: { name: string; caliper: number };
  parameters: Parameter[];
  pieces: Piece[];
  solid: Solid | null;
  findings: Finding[];
  verdict: Verdict;
  outputs: Output[];
}

export interface Design {
  fields: FieldError[];
  notes: FieldError[];
  case: Case | null;
  version: string;
}

export interface JobEntry {
  name: string;
  title: string;
  style: string;
}

export interface Job {
  name: string;
  state: State;
  stamp: string;
  messages: FieldError[];
}

export interface Vary {
  name: string;
  from: string;
  to: string;
  steps: number;
}

export interface SweepCell {
  i: number;
  j: number;
  verdict: Verdict | 'refused';
  code: string;
  message: string;
}

export interface SweepLine {
  total?: number;
  done?: number;
  cells?: SweepCell[];
  finished?: boolean;
}

export interface Failure {
  code: string;
  message: string;
  help?: string | null;
}
