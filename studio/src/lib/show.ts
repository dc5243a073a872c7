// How figures are written on the screen. This is the only place in the page that turns a
// figure into words; nothing here ever goes back to the server or into a file.
import type { Unit } from '../wire';

const MM_PER_INCH = 25.4;

function trim(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  const short = text.includes('.') ? text.replace(/\.?0+$/, '') : text;
  return short === '-0' ? '0' : short;
}

const decimals = (unit: Unit) => (unit === 'mm' ? 1 : 3);
const inUnit = (mm: number, unit: Unit) => (unit === 'mm' ? mm : mm / MM_PER_INCH);

export const bare = (mm: number, unit: Unit) => trim(inUnit(mm, unit), decimals(unit));
export const length = (mm: number, unit: Unit) => `${bare(mm, unit)} ${unit}`;
export const sizes = (mm: readonly number[], unit: Unit) => `${mm.map((v) => bare(v, unit)).join(' × ')} ${unit}`;
export const area = (mm2: number, unit: Unit) =>
  unit === 'mm' ? `${trim(mm2 / 1e6, 3)} m²` : `${trim(mm2 / (MM_PER_INCH * 12) ** 2, 2)} sq ft`;
/** A small length, such as how far a crease strays. */
export const fine = (mm: number, unit: Unit) => `${trim(inUnit(mm, unit), unit === 'mm' ? 3 : 4)} ${unit}`;
/** A figure that is no length, to so many decimals. */
export const number = (value: number, decimals: number) => trim(value, decimals);
/** Four digits that count. */
export const figure = (value: number) => trim(value, Math.abs(value) >= 1000 ? 0 : Math.abs(value) >= 100 ? 1 : Math.abs(value) >= 10 ? 2 : 3);
export const mass = (kg: number, unit: Unit) =>
  unit === 'mm' ? (kg < 1 ? `${trim(kg * 1000, 0)} g` : `${trim(kg, 2)} kg`) : `${trim(kg / 0.45359237, 2)} lb`;
export const run = (mm: number, unit: Unit) =>
  unit === 'mm' ? `${trim(mm / 1000, 2)} m` : `${trim(mm / (MM_PER_INCH * 12), 2)} ft`;

/** Forces of strength and load: no more figures than an estimate deserves. */
export function force(newtons: number, unit: Unit): string {
  const value = unit === 'mm' ? newtons : newtons / 4.4482216152605;
  const step = value < 100 ? 1 : value < 10_000 ? 10 : 100;
  return `${(Math.round(value / step) * step).toLocaleString('en').replaceAll(',', '\u202f')} ${unit === 'mm' ? 'N' : 'lbf'}`;
}
export const crush = (perMm: number, unit: Unit) => (unit === 'mm' ? `${trim(perMm, 2)} kN/m` : `${trim(perMm / 0.175126835, 1)} lbf/in`);
/** A share between its least and its most. */
export const between = (least: number, most: number, show: (v: number) => string) =>
  show(least) === show(most) ? show(least) : `${show(least)} to ${show(most)}`;

export const percent = (share: number) => `${trim(share * 100, 1)} %`;
/** Money of the workshop: it has no name here. */
export const money = (amount: number) => amount.toFixed(2);
export const energy = (joules: number) => (joules < 1000 ? `${trim(joules, 0)} J` : `${trim(joules / 1000, 1)} kJ`);

/** Seconds as people say them: 8.4 s, 2 min 05 s, 1 h 20 min. */
export function time(seconds: number): string {
  if (seconds < 59.95) return `${trim(seconds, 1)} s`;
  const whole = Math.round(seconds);
  const two = (n: number) => String(n).padStart(2, '0');
  if (whole < 3600) return `${Math.floor(whole / 60)} min ${two(whole % 60)} s`;
  const minutes = Math.round(seconds / 60);
  return `${Math.floor(minutes / 60)} h ${two(minutes % 60)} min`;
}

/** One thing or several: `1 sheet`, `2 sheets`. */
export const several = (n: number, one: string, more = `${one}s`) => `${n} ${n === 1 ? one : more}`;

/** The difference of two displayed figures, with its sign, or nothing when they show alike. */
export function change(now: number, then: number, show: (value: number) => string): string {
  if (show(now) === show(then)) return '';
  return now > then ? `+${show(now - then)}` : `−${show(then - now)}`;
}

/** A figure typed without a unit is meant in the unit that the page shows. */
export function withUnit(typed: string, kind: string, unit: Unit): string {
  const text = typed.trim();
  if (!/^\d*\.?\d+$/.test(text)) return text;
  if (kind === 'length') return `${text}${unit}`;
  if (kind === 'angle') return `${text}deg`;
  return text;
}

export const plain = (name: string) => name.replaceAll('-', ' ');
export const initial = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);

/** What the server says in mm and, where it names lengths, in inches too. */
export const told = (unit: Unit, mm: string, inch: string | null | undefined) => ((unit === 'in' ? inch : null) ?? mm).replaceAll('`', '');

const sentence = (text: string) => `${initial(text.replaceAll('`', ''))}${/[.?!]$/.test(text) ? '' : '.'}`;

/** A message of the server as a sentence or two. */
export function say(error: { message: string; messageIn: string | null; help: string | null }, unit: Unit): string {
  const message = sentence(told(unit, error.message, error.messageIn));
  return error.help ? `${message} ${sentence(error.help)}` : message;
}

/** A plain figure in the other unit is shown in the chosen one; what else was typed stays. */
export function typed(text: string, unit: Unit): string {
  const mm = unit === 'in' ? /^(\d*\.?\d+) ?mm$/.exec(text) : null;
  return mm ? length(Number(mm[1]), unit) : text.replace(/^(\d*\.?\d+)(mm|in|deg)$/, '$1 $2');
}
