// The first article: strips, readings, what they come to and what is kept. It lives beside the page,
// so that nothing typed is lost while another one is open.
import type { Crease, FieldError, Fit, Machine, MeasuredBook, Readings, SpreadShown, StripsAsk, StripsShown } from '../wire';
import * as api from './api';
import { keep } from './file';
import { withUnit } from './show';
import { studio } from './studio.svelte';

/** Longest measurements file, in bytes. */
const MOST_BYTES = 1024 * 1024;

class Article {
  machines = $state.raw<Machine[]>([]);
  board = $state('C');
  machine = $state('');
  crease = $state<Crease>('rule');
  strips = $state('5');
  made = $state.raw<{ ask: StripsAsk; shown: StripsShown } | null>(null);
  stripsWrong = $state('');

  readings = $state<Readings | null>(null);
  fit = $state.raw<Fit | null>(null);
  fitting = $state(false);
  readingsWrong = $state('');
  book = $state.raw<MeasuredBook | null>(null);
  bookWrong = $state('');

  cases = $state('2000');
  short = $state('');
  spread = $state.raw<SpreadShown | null>(null);
  /** The case that the spread is of. */
  spreadOf = $state('');
  done = $state(0);
  of = $state(0);
  running = $state(false);
  spreadWrong = $state('');
  #flight: AbortController | null = null;

  errors = $derived.by(() => {
    const by = new Map<string, FieldError[]>();
    for (const e of this.fit?.fields ?? []) by.set(e.field, [...(by.get(e.field) ?? []), e]);
    return by;
  });

  async load(): Promise<void> {
    try {
      [this.machines, this.book] = await Promise.all([api.machines(), api.measured()]);
      this.bookWrong = '';
    } catch (cause) {
      this.bookWrong = api.reason(cause);
    }
  }

  /** What is made for the strips, and a form as long as there are strips. */
  async make(): Promise<void> {
    const strips = Number(this.strips);
    if (!Number.isInteger(strips) || strips < 2 || strips > 50) {
      this.stripsWrong = 'How many strips for each direction? A whole number from 2 to 50 is needed.';
      return;
    }
    const ask: StripsAsk = { board: this.board, crease: this.crease, strips };
    if (this.machine) ask.machine = this.machine;
    try {
      this.made = { ask, shown: await api.strips(ask) };
      this.stripsWrong = '';
      const empty = (r: Readings) => [...r.caliper, ...r.along.flatMap((c) => [c.inside, c.outside]), ...r.across.flatMap((c) => [c.inside, c.outside]), ...r.gauges.flatMap((g) => [g.hole, g.piece])].every((t) => t === '');
      // What was typed in already is not thrown away.
      if (!this.readings || empty(this.readings)) this.fill(this.made.shown.readings);
    } catch (cause) {
      this.stripsWrong = api.reason(cause);
    }
  }

  fill(readings: Readings): void {
    this.readings = structuredClone(readings);
    this.fit = null;
    this.readingsWrong = '';
  }

  async file(name: string): Promise<void> {
    try {
      keep(await api.stripsFile(this.made!.ask, name));
    } catch (cause) {
      this.stripsWrong = api.reason(cause);
    }
  }

  async open(file: File): Promise<void> {
    try {
      if (file.size > MOST_BYTES) this.readingsWrong = `${file.name} is longer than any measurements file.`;
      else this.fill(await api.readings(await file.text()));
    } catch (cause) {
      this.readingsWrong = api.reason(cause);
    }
  }

  /** The form with units behind bare figures. */
  #typed(): Readings {
    const r = $state.snapshot(this.readings)!;
    const unit = (text: string) => withUnit(text, 'length', studio.unit);
    const channel = (c: Readings['along'][number]) => ({ drawn: unit(c.drawn), inside: unit(c.inside), outside: unit(c.outside) });
    return {
      ...r,
      step: unit(r.step),
      caliper: r.caliper.map(unit),
      along: r.along.map(channel),
      across: r.across.map(channel),
      gauges: r.gauges.map((g) => ({ hole: unit(g.hole), piece: unit(g.piece) })),
    };
  }

  async work(): Promise<void> {
    this.fitting = true;
    try {
      this.fit = await api.fit(this.#typed());
      this.readingsWrong = '';
    } catch (cause) {
      this.readingsWrong = api.reason(cause);
    }
    this.fitting = false;
  }

  async keep(): Promise<void> {
    try {
      this.book = await api.changeMeasured({ do: 'keep', readings: this.#typed() });
      studio.notice = 'The figures are kept.';
      studio.again();
    } catch (cause) {
      this.readingsWrong = api.reason(cause);
    }
  }

  async forget(number: number): Promise<void> {
    try {
      this.book = await api.changeMeasured({ do: 'forget', number });
      this.bookWrong = '';
      studio.notice = `Number ${number} is forgotten.`;
      studio.again();
    } catch (cause) {
      this.bookWrong = api.reason(cause);
    }
  }

  async run(): Promise<void> {
    const cases = Number(this.cases);
    if (!Number.isInteger(cases) || cases < 100 || cases > 100_000) {
      this.spreadWrong = 'How many cases? A whole number from 100 to 100000 is needed; boxwright spread takes more.';
      return;
    }
    this.#flight?.abort();
    const mine = (this.#flight = new AbortController());
    [this.spread, this.running, this.done, this.of, this.spreadWrong, this.spreadOf] = [null, true, 0, 0, '', studio.job.title];
    let finished = false;
    try {
      const ask = { state: studio.job, cases, seed: 1, short: withUnit(this.short, 'length', studio.unit) };
      for await (const line of api.spread(ask, mine.signal)) {
        if ('finished' in line) {
          this.spread = line;
          finished = true;
        } else [this.done, this.of] = [line.done, line.of];
      }
      if (!finished && !mine.signal.aborted) this.spreadWrong = 'The run was cut off before it told anything.';
    } catch (cause) {
      if (!mine.signal.aborted) this.spreadWrong = api.reason(cause);
    }
    if (this.#flight === mine) this.running = false;
  }

  stop(): void {
    this.#flight?.abort();
    this.running = false;
  }
}

export const article = new Article();
