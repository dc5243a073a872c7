// The range that is being chosen. It lives beside the page, so that a search goes on while another
// one is open.
import type { Least, RangeAsk, RangeShown, RangeTick } from '../wire';
import * as api from './api';
import { words } from './file';
import { withUnit } from './show';
import { studio } from './studio.svelte';

/** Longest text that is read here, in bytes; the server says the same of its files. */
const MOST_BYTES = 16 * 1024 * 1024;
export const MOST = '16 MiB';

/** Where order histories come from. */
export type From = 'file' | 'text';

class Ranging {
  files = $state.raw<string[] | null>(null);
  from = $state<From>('file');
  file = $state('');
  text = $state('');
  /** What the text was opened from. */
  opened = $state('');
  sizes = $state('6');
  least = $state<Least>('void');
  style = $state('slotted-case');
  board = $state('C');
  clearance = $state('');
  grid = $state('');
  keep = $state<[string, string, string][]>([]);
  upright = $state(false);
  divisor = $state('5000');
  step = $state('');
  skipBad = $state(false);
  work = $state('1000');

  shown = $state.raw<RangeShown | null>(null);
  tick = $state.raw<RangeTick | null>(null);
  running = $state(false);
  stopping = $state(false);
  wrong = $state('');
  #run: number | null = null;
  #flight: AbortController | null = null;

  async load(): Promise<void> {
    try {
      this.files = (await api.orders()).map((f) => f.name);
      if (!this.files.includes(this.file)) this.file = this.files[0] ?? '';
      if (this.files.length === 0 && this.text === '') this.from = 'text';
    } catch (cause) {
      this.files = [];
      this.wrong = words(cause);
    }
  }

  async open(file: File): Promise<void> {
    if (file.size > MOST_BYTES) {
      this.wrong = `${file.name} is longer than ${MOST}. Use boxwright range on the command line: it reads files of any length.`;
      return;
    }
    this.wrong = '';
    this.text = await file.text();
    this.opened = file.name;
    this.from = 'text';
  }

  /** What is asked, or why it cannot be. */
  #ask(): RangeAsk | string {
    const sizes = Number(this.sizes);
    if (!Number.isInteger(sizes) || sizes < 1 || sizes > 60) return 'How many sizes? A whole number from 1 to 60 is needed.';
    if (this.from === 'file' && !this.file) return 'Choose a CSV file, or give the orders as text.';
    if (this.from === 'text' && !this.text.trim()) return 'Paste the orders, or open a file with them.';
    const divisor = Number(this.divisor.replace(',', '.'));
    if (this.least === 'freight' && !(divisor >= 1)) return 'The volume charged as one kilogram is a plain number of cm³.';
    const length = (text: string) => withUnit(text, 'length', studio.unit);
    const ask: RangeAsk = {
      sizes,
      least: this.least,
      style: this.style,
      board: this.board,
      clearance: length(this.clearance),
      grid: length(this.grid),
      keep: this.keep.map(([l, w, d]) => [length(l), length(w), length(d)]),
      upright: this.upright,
      divisor: divisor || 5000,
      step: /^\s*\d*\.?\d+\s*$/.test(this.step) ? `${this.step.trim()}kg` : this.step,
      skipBad: this.skipBad,
      work: Number(this.work),
      unit: studio.unit,
    };
    if (this.from === 'file') ask.file = this.file;
    else ask.text = this.text;
    return ask;
  }

  async run(): Promise<void> {
    const ask = this.#ask();
    if (typeof ask === 'string') {
      this.wrong = ask;
      return;
    }
    this.#flight?.abort();
    const mine = (this.#flight = new AbortController());
    this.wrong = '';
    this.shown = this.tick = this.#run = null;
    this.running = true;
    this.stopping = false;
    let finished = false;
    try {
      for await (const line of api.chooseRange(ask, mine.signal)) {
        if ('run' in line) this.#run = line.run;
        else if ('finished' in line) {
          finished = true;
          this.shown = line.range;
          this.wrong = line.wrong ? `${line.wrong.charAt(0).toUpperCase()}${line.wrong.slice(1)}.` : '';
        } else this.tick = line;
      }
      if (!finished && !mine.signal.aborted) this.wrong = 'The search was cut off before it told anything.';
    } catch (cause) {
      if (!mine.signal.aborted) this.wrong = api.reason(cause);
    }
    if (this.#flight === mine) this.running = false;
  }

  /** Ends the search; the server tells the best so far. */
  async stop(): Promise<void> {
    this.stopping = true;
    try {
      if (this.#run === null || !(await api.stopRange(this.#run)).stopped) this.#flight?.abort();
    } catch {
      this.#flight?.abort();
    }
  }
}

export const ranging = new Ranging();
