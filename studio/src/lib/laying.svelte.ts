// What is being laid. It lives beside the page, so that a search goes on while another one is open.
import type { JobEntry, LayoutAsk, LayoutEntry, LayoutShown, LayoutTaking, Machine, TypedSheet } from '../wire';
import * as api from './api';
import { words } from './file';
import { several, withUnit } from './show';
import { studio } from './studio.svelte';

export interface Pick {
  on: boolean;
  /** As typed; empty for what the job itself says. */
  quantity: string;
}
export interface Sheet {
  board: string;
  length: string;
  width: string;
  count: string;
  price: string;
}

const ENDING = '.layout.json';

class Laying {
  jobs = $state.raw<JobEntry[] | null>(null);
  machines = $state.raw<Machine[]>([]);
  files = $state.raw<LayoutEntry[]>([]);
  title = $state('this week');
  picks = $state<Record<string, Pick>>({});
  from = $state<'store' | 'typed'>('store');
  sheets = $state<Sheet[]>([{ board: 'C', length: '', width: '', count: '10', price: '' }]);
  spacing = $state('');
  margin = $state('');
  machine = $state('');
  seconds = $state('10');

  shown = $state.raw<LayoutShown | null>(null);
  /** The layout file of what is shown, while it is not saved. */
  text = $state.raw<string | null>(null);
  file = $state.raw<{ name: string; stamp: string; taking: LayoutTaking } | null>(null);
  running = $state(false);
  stopped = $state(false);
  elapsed = $state(0);
  rounds = $state(0);
  wanted = $state(10);
  found = $state(0);
  wrong = $state('');
  #flight: AbortController | null = null;

  picked = $derived((this.jobs ?? []).filter((j) => this.picks[j.name]?.on));

  async load(): Promise<void> {
    try {
      const [jobs, machines, files] = await Promise.all([api.jobs(), api.machines(), api.layouts()]);
      this.jobs = jobs.filter((j) => j.style);
      this.machines = machines;
      this.files = files;
      for (const job of this.jobs) this.picks[job.name] ??= { on: false, quantity: '' };
    } catch (cause) {
      this.wrong = words(cause);
    }
  }

  /** What is asked, or why it cannot be. */
  #ask(): LayoutAsk | string {
    if (this.picked.length === 0) return 'Choose at least one job to lay.';
    const whole = (text: string) => (/^\s*\d+\s*$/.test(text) ? Number(text) : null);
    const jobs: LayoutAsk['jobs'] = [];
    for (const job of this.picked) {
      const typed = this.picks[job.name]!.quantity;
      const quantity = typed.trim() === '' ? null : whole(typed);
      if (typed.trim() !== '' && !quantity) return `How many of ${job.title || job.name}? A whole number is needed, or nothing for what the job says.`;
      jobs.push(quantity === null ? { job: job.name } : { job: job.name, quantity });
    }
    const seconds = Number(this.seconds);
    if (!(seconds >= 0 && seconds <= 600)) return 'How long to look is a number of seconds from 0 to 600.';
    const length = (text: string) => withUnit(text, 'length', studio.unit);
    const ask: LayoutAsk = { title: this.title.trim(), jobs, spacing: length(this.spacing), margin: length(this.margin), seconds, seed: 1 };
    if (this.machine) ask.machine = this.machine;
    if (this.from === 'typed') {
      const sheets: TypedSheet[] = [];
      for (const s of this.sheets) {
        const count = whole(s.count);
        const price = s.price.trim() === '' ? 0 : Number(s.price.replace(',', '.'));
        if (!count) return 'How many sheets? A whole number is needed.';
        if (!(price >= 0)) return 'The price of a sheet is a plain number.';
        sheets.push({ board: s.board, length: length(s.length), width: length(s.width), count, price });
      }
      ask.sheets = sheets;
    }
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
    this.shown = this.text = this.file = null;
    [this.running, this.stopped, this.elapsed, this.rounds, this.found, this.wanted] = [true, false, 0, 0, 0, ask.seconds];
    let finished = false;
    try {
      for await (const line of api.lay(ask, mine.signal)) {
        this.elapsed = line.seconds;
        if ('layout' in line) {
          this.shown = line.layout;
          this.text = line.text;
          this.found += 1;
        } else {
          this.rounds = line.rounds;
          finished = 'finished' in line;
          if ('wrong' in line && line.wrong) this.wrong = line.wrong;
        }
      }
      if (!finished && !mine.signal.aborted) this.wrong = 'The search was cut off. What is shown is the best until then.';
    } catch (cause) {
      if (!mine.signal.aborted)
        this.wrong = cause instanceof api.Refused && cause.failure.help ? `${cause.failure.message}: ${cause.failure.help}` : words(cause);
    }
    if (this.#flight === mine) {
      this.running = false;
      const sheets = this.shown?.sheets.length ?? 0;
      if (this.shown) studio.notice = `Laid on ${several(sheets, 'sheet')}${this.stopped ? ', stopped' : ''}.`;
    }
  }

  /** Ends the search and keeps the best so far. */
  stop(): void {
    this.stopped = true;
    this.#flight?.abort();
  }

  static named(name: string): string {
    const bare = name.trim();
    return bare.endsWith(ENDING) ? bare : `${bare}${ENDING}`;
  }

  /** A file name from the title. */
  stem(): string {
    return `${this.title.trim().toLowerCase().replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-|-$/g, '') || 'layout'}${ENDING}`;
  }

  async save(name: string): Promise<string | null> {
    if (this.text === null) return null;
    const file = Laying.named(name);
    const stamp = this.file?.name === file ? this.file.stamp : null;
    await api.saveLayout(file, stamp, this.text);
    this.text = null;
    await this.open(file);
    this.files = await api.layouts();
    studio.notice = `Saved as ${file}.`;
    return file;
  }

  async open(name: string): Promise<void> {
    const read = await api.openLayout(name);
    this.file = { name: read.name, stamp: read.stamp, taking: read.taking };
    this.shown = read.layout;
    this.text = null;
  }

  /** Takes the sheets out of the stock and puts the off-cuts back. */
  async use(): Promise<void> {
    const file = this.file;
    if (!file) return;
    await api.useLayout(file.name, file.stamp, file.taking.stamp);
    studio.notice = 'The sheets are taken from the stock, and the off-cuts put back.';
    await this.open(file.name);
  }
}

export const laying = new Laying();
