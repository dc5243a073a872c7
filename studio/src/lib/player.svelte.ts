// A program played back. Every place and time is the server's: between two of its moments the tool
// moves evenly. One second of playing at speed 1 is one second of the machine.
import type { CutSheet, Point } from '../wire';

export const SLOWEST = 0.1;
export const FASTEST = 100;

interface Leg {
  stroke: number | null;
  from: number;
  to: number;
  begins: number;
  ends: number;
}

export class Player {
  time = $state(0);
  playing = $state(false);
  speed = $state(10);
  #x: number[] = [];
  #y: number[] = [];
  #t: number[] = [];
  #legs = $state.raw<Leg[]>([]);
  #strokes = $state.raw<CutSheet['strokes']>([]);
  #frame = 0;
  #last = 0;
  #exact = 0;
  /** Who asked for less motion sees whole strokes come one by one. */
  #calm = matchMedia('(prefers-reduced-motion: reduce)');

  total = $derived(this.#legs.at(-1)?.ends ?? 0);
  /** The leg that the tool is on. */
  leg = $derived.by(() => {
    let [low, high] = [0, this.#legs.length - 1];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.#legs[middle]!.ends <= this.time) low = middle + 1;
      else high = middle;
    }
    return this.#legs[low] ?? null;
  });
  /** How many strokes are done. */
  done = $derived.by(() => {
    let [low, high] = [0, this.#strokes.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.#strokes[middle]!.ends <= this.time + 1e-9) low = middle + 1;
      else high = middle;
    }
    return low;
  });
  /** The stroke being made, or the one that comes next. */
  stroke = $derived(this.#strokes[this.done] ?? null);
  head = $derived.by<Point | null>(() => {
    const leg = this.leg;
    if (!leg) return null;
    const i = this.#moment(leg);
    const [a, b] = [this.#t[i]!, this.#t[Math.min(i + 1, leg.to - 1)]!];
    const j = Math.min(i + 1, leg.to - 1);
    const share = b > a ? Math.min(1, Math.max(0, (this.time - a) / (b - a))) : 0;
    return [this.#x[i]! + (this.#x[j]! - this.#x[i]!) * share, this.#y[i]! + (this.#y[j]! - this.#y[i]!) * share];
  });
  /** The way of the present leg as far as it is made, as SVG path data. */
  trail = $derived.by(() => {
    const leg = this.leg;
    const head = this.head;
    if (!leg || !head) return '';
    let d = `M${this.#x[leg.from]} ${this.#y[leg.from]}`;
    const last = this.#moment(leg);
    for (let i = leg.from + 1; i <= last; i++) d += `L${this.#x[i]} ${this.#y[i]}`;
    return `${d}L${head[0]} ${head[1]}`;
  });

  load(sheet: CutSheet | null): void {
    this.pause();
    [this.#x, this.#y, this.#t] = [[], [], []];
    const legs: Leg[] = [];
    for (const leg of sheet?.track ?? []) {
      const from = this.#t.length;
      for (let i = 0; i + 2 < leg.points.length; i += 3) {
        this.#x.push(leg.points[i]!);
        this.#y.push(leg.points[i + 1]!);
        this.#t.push(leg.points[i + 2]!);
      }
      const to = this.#t.length;
      if (to > from) legs.push({ stroke: leg.stroke, from, to, begins: this.#t[from]!, ends: this.#t[to - 1]! });
    }
    this.#legs = legs;
    this.#strokes = sheet?.strokes ?? [];
    this.time = 0;
  }

  /** The last moment of a leg that is not after the present time. */
  #moment(leg: Leg): number {
    let [low, high] = [leg.from, leg.to - 1];
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (this.#t[middle]! <= this.time) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  toggle = (): void => (this.playing ? this.pause() : this.play());

  play(): void {
    if (this.total <= 0) return;
    if (this.time >= this.total) this.time = 0;
    this.playing = true;
    this.#last = performance.now();
    this.#exact = this.time;
    const tick = (now: number) => {
      if (!this.playing) return;
      this.#advance(now);
      if (this.#exact >= this.total) this.pause();
      else this.#frame = requestAnimationFrame(tick);
    };
    this.#frame = requestAnimationFrame(tick);
  }

  #advance(now: number): void {
    this.#exact = Math.min(this.total, this.#exact + (Math.max(0, now - this.#last) / 1000) * this.speed);
    this.#last = now;
    if (!this.#calm.matches || this.#exact >= this.total) this.time = this.#exact;
    else this.time = this.#strokes.findLast((s) => s.ends <= this.#exact)?.ends ?? 0;
  }

  pause(): void {
    if (!this.playing) return;
    // Frames may be slow: what has passed since the last one counts too.
    this.#advance(performance.now());
    this.playing = false;
    cancelAnimationFrame(this.#frame);
  }

  seek(time: number): void {
    const was = this.playing;
    this.pause();
    this.time = Math.max(0, Math.min(this.total, time));
    if (was && this.time < this.total) this.play();
  }

  /** To the end of the stroke that is being made, or back to the end of the one before. */
  step(by: 1 | -1): void {
    this.pause();
    if (by > 0) this.time = this.#strokes[this.done]?.ends ?? this.total;
    else {
      const at = this.done;
      const here = this.#strokes[at - 1];
      const exact = here && Math.abs(here.ends - this.time) < 1e-9;
      this.time = this.#strokes[exact ? at - 2 : at - 1]?.ends ?? 0;
    }
  }

  faster(by: number): void {
    this.speed = round(this.speed * by);
  }

  set pace(exponent: number) {
    this.speed = round(10 ** exponent);
  }
  get pace(): number {
    return Math.log10(this.speed);
  }
}

/** Two figures are enough for a speed. */
function round(speed: number): number {
  const within = Math.max(SLOWEST, Math.min(FASTEST, speed));
  return Number(within.toPrecision(2));
}
