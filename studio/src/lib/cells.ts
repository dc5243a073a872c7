// The map of sizes as painted: a mark says each verdict without its colour.
import type { SweepCell } from '../wire';

export const KINDS = ['pass', 'caution', 'fail', 'refused'] as const;
export const WORDS = { pass: 'passes', caution: 'tight', fail: 'fails', refused: 'cannot be drawn' } as const;

export type Colours = Record<string, string>;

export function coloursOf(canvas: HTMLCanvasElement): Colours {
  const style = getComputedStyle(canvas);
  return Object.fromEntries(
    ['pass', 'caution', 'fail', 'pass-wash', 'caution-wash', 'fail-wash', 'inset', 'soft', 'sheet'].map((c) => [c, style.getPropertyValue(`--${c}`)]),
  );
}

export function clearMap(canvas: HTMLCanvasElement, wide: number, high: number): void {
  const pixels = devicePixelRatio || 1;
  canvas.width = Math.round(wide * pixels);
  canvas.height = Math.round(high * pixels);
  const pen = canvas.getContext('2d')!;
  pen.setTransform(pixels, 0, 0, pixels, 0, 0);
  pen.fillStyle = coloursOf(canvas)['inset']!;
  pen.fillRect(0, 0, wide, high);
}

/** Paints a cell into its rectangle: a dot, a bar, a cross, or next to nothing. */
export function paintCell(pen: CanvasRenderingContext2D, verdict: SweepCell['verdict'], [x, y, w, h]: [number, number, number, number], colours: Colours): void {
  const gap = Math.min(w, h) > 7 ? 1 : 0;
  pen.fillStyle = verdict === 'refused' ? colours['sheet']! : colours[`${verdict}-wash`]!;
  pen.fillRect(x, y, w - gap, h - gap);
  const r = Math.min(w, h) * 0.24;
  const [cx, cy] = [x + (w - gap) / 2, y + (h - gap) / 2];
  pen.lineWidth = Math.max(1, r * 0.5);
  pen.strokeStyle = pen.fillStyle = verdict === 'refused' ? colours['soft']! : colours[verdict]!;
  pen.beginPath();
  if (verdict === 'pass') pen.arc(cx, cy, r, 0, 7);
  else if (verdict === 'caution') {
    pen.moveTo(cx - r, cy);
    pen.lineTo(cx + r, cy);
  } else if (verdict === 'fail') {
    pen.moveTo(cx - r, cy - r);
    pen.lineTo(cx + r, cy + r);
    pen.moveTo(cx + r, cy - r);
    pen.lineTo(cx - r, cy + r);
  } else pen.arc(cx, cy, Math.max(0.6, r * 0.3), 0, 7);
  if (verdict === 'pass') pen.fill();
  else pen.stroke();
}
