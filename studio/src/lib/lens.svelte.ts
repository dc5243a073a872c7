// Nearer, farther and along: what a person does to a drawing with wheel, fingers, mouse and keys.
import type { Point } from '../wire';

const NEAREST = 400;

export class Lens {
  /** The drawing's element in pixels. */
  wide = $state(800);
  high = $state(500);
  zoom = $state(1);
  /** How far the middle was moved, in units of the drawing. */
  shift = $state<Point>([0, 0]);
  #size = $state<Point>([100, 100]);
  #free = 14;
  #fingers = new Map<number, Point>();
  /** How far the pointer went since it came down: less than a few pixels is a click. */
  moved = 0;

  /** Units of the drawing to a pixel when all of it is in view. */
  fit = $derived(Math.max(this.#size[0] / Math.max(60, this.wide - 2 * this.#free), this.#size[1] / Math.max(60, this.high - 2 * this.#free)));
  pixel = $derived(this.fit / this.zoom);
  box = $derived.by(() => {
    const [w, h] = [this.wide * this.pixel, this.high * this.pixel];
    return [this.#size[0] / 2 + this.shift[0] - w / 2, this.#size[1] / 2 + this.shift[1] - h / 2, w, h].join(' ');
  });

  /** How large the whole drawing is. */
  see(width: number, height: number): void {
    if (this.#size[0] !== width || this.#size[1] !== height) this.#size = [width, height];
  }

  home = (): void => {
    this.zoom = 1;
    this.shift = [0, 0];
  };

  by = (factor: number, x = this.wide / 2, y = this.high / 2): void => {
    const next = Math.max(0.5, Math.min(NEAREST, this.zoom * factor));
    const change = this.fit / this.zoom - this.fit / next;
    this.shift = [this.shift[0] + (x - this.wide / 2) * change, this.shift[1] + (y - this.high / 2) * change];
    this.zoom = next;
  };

  slide(dx: number, dy: number): void {
    this.shift = [this.shift[0] - dx * this.pixel, this.shift[1] - dy * this.pixel];
  }

  /** Puts a place of the drawing into the middle. */
  look(x: number, y: number): void {
    this.shift = [x - this.#size[0] / 2, y - this.#size[1] / 2];
  }

  /** Arrow keys move, plus and minus bring nearer, 0 shows all. True when the key was one of them. */
  key(event: KeyboardEvent): boolean {
    if (event.ctrlKey || event.metaKey || event.altKey) return false;
    const step = event.shiftKey ? 160 : 40;
    const act: Record<string, () => void> = {
      ArrowLeft: () => this.slide(step, 0),
      ArrowRight: () => this.slide(-step, 0),
      ArrowUp: () => this.slide(0, step),
      ArrowDown: () => this.slide(0, -step),
      '+': () => this.by(1.25),
      '=': () => this.by(1.25),
      '-': () => this.by(0.8),
      '0': this.home,
    };
    const run = act[event.key];
    if (!run) return false;
    event.preventDefault();
    event.stopPropagation();
    run();
    return true;
  }

  down = (event: PointerEvent): void => {
    const rect = (event.currentTarget as Element).getBoundingClientRect();
    this.#fingers.set(event.pointerId, [event.clientX - rect.left, event.clientY - rect.top]);
    this.moved = 0;
  };

  move = (event: PointerEvent): void => {
    const was = this.#fingers.get(event.pointerId);
    if (!was) return;
    const svg = event.currentTarget as Element;
    const rect = svg.getBoundingClientRect();
    const at: Point = [event.clientX - rect.left, event.clientY - rect.top];
    if (this.#fingers.size === 1) {
      this.moved += Math.abs(at[0] - was[0]) + Math.abs(at[1] - was[1]);
      if (this.moved > 4) {
        if (!svg.hasPointerCapture(event.pointerId)) svg.setPointerCapture(event.pointerId);
        this.slide(at[0] - was[0], at[1] - was[1]);
      }
    } else if (this.#fingers.size === 2) {
      const other = [...this.#fingers].find(([id]) => id !== event.pointerId)![1];
      const gap = (p: Point) => Math.hypot(p[0] - other[0], p[1] - other[1]);
      this.moved += 10;
      this.by(gap(at) / Math.max(1, gap(was)), (at[0] + other[0]) / 2, (at[1] + other[1]) / 2);
      this.slide((at[0] - was[0]) / 2, (at[1] - was[1]) / 2);
    }
    this.#fingers.set(event.pointerId, at);
  };

  up = (event: PointerEvent): void => {
    this.#fingers.delete(event.pointerId);
  };

  /** For an element: the wheel brings nearer. Svelte alone would listen passively. */
  wheel = (svg: Element): (() => void) => {
    const turn = (event: Event) => {
      const e = event as WheelEvent;
      e.preventDefault();
      const rect = svg.getBoundingClientRect();
      this.by(Math.exp(-e.deltaY * 0.0015), e.clientX - rect.left, e.clientY - rect.top);
    };
    svg.addEventListener('wheel', turn, { passive: false });
    return () => svg.removeEventListener('wheel', turn);
  };
}
