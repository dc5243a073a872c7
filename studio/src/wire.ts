// The shapes that pass between the page and the server are written from the server's own types
// into ./wire; what is here only gives them the names that the page uses.
export type {
  Bend,
  BoardLine as Board,
  Case,
  Crease,
  Design,
  Dimension,
  Drawing,
  FieldError,
  FileKind,
  Finding,
  JobLine as JobEntry,
  LineUse,
  OpenJob as Job,
  Output,
  Parameter,
  Piece,
  Refusal,
  Solid,
  SolidPanel,
  State,
  StyleLine as Style,
  SweepCell,
  SweepLine,
  SweepValue,
  Trouble as Failure,
  Unit,
  Vary,
} from './wire/index';

export type Point = [number, number];
export type Place = [number, number, number];
/** Where every panel is: three axes and an origin, twelve numbers each. */
export type Frames = Record<string, number[]>;
