// The things that go into one case. They live beside the page, so that coming back shows the same.
import { tick } from 'svelte';
import type { ChooseAsk, ChooseShown, ContentsAsk, ContentsLists, ContentsShown, ContentsSize, TypedThing } from '../wire';
import * as api from './api';
import { words } from './file';
import { pages } from './pages.svelte';
import { studio } from './studio.svelte';

const blank = (name: string): TypedThing => ({
  name,
  shape: 'cuboid',
  length: '',
  width: '',
  depth: '',
  diameter: '',
  mass: '',
  fragile: '',
  up: 'any',
  touch: true,
  stack: true,
  count: 1,
});

class Packing {
  lists = $state.raw<ContentsLists | null>(null);
  things = $state<TypedThing[]>([{ ...blank('my thing'), length: '280mm', width: '180mm', depth: '130mm', mass: '2kg' }]);
  /** Counts as they are typed. */
  counts = $state<string[]>(['1']);
  drop = $state('');
  dropTable = $state('');
  factor = $state('');
  room = $state('');
  by = $state<ContentsAsk['by']>('volume');
  shown = $state.raw<ContentsShown | null>(null);
  /** What is shown was asked so. */
  asked = $state.raw<string>('');
  size = $state(0);
  busy = $state(false);
  wrong = $state('');
  /** What a style and board are to be best at. */
  prefer = $state<ChooseAsk['by']>('board');
  choices = $state.raw<ChooseShown | null>(null);
  /** The size they were found for. */
  chosenFor = $state.raw<ContentsSize | null>(null);
  choosing = $state(false);
  notChosen = $state('');
  #choosing: AbortController | null = null;
  #flight: AbortController | null = null;

  /** Whether what is shown is what is typed. */
  fresh = $derived(this.shown !== null && this.asked === JSON.stringify(this.#ask()));

  async begin(): Promise<void> {
    if (this.lists) return;
    try {
      const lists = (this.lists = await api.contentsLists());
      this.dropTable ||= lists.drops[0]?.name ?? '';
    } catch (cause) {
      this.wrong = words(cause);
    }
  }

  async add(): Promise<void> {
    this.things.push(blank(''));
    this.counts.push('1');
    await tick();
    document.getElementById(`thing-${this.things.length - 1}`)?.focus();
  }

  async remove(at: number): Promise<void> {
    this.things.splice(at, 1);
    this.counts.splice(at, 1);
    await tick();
    document.getElementById(`thing-${Math.max(0, at - 1)}`)?.focus();
  }

  #ask(): ContentsAsk {
    const things = this.things.map((t, n) => {
      const round = t.shape === 'cylinder';
      return { ...t, count: Number(this.counts[n]), width: round ? '' : t.width, depth: round ? '' : t.depth, diameter: round ? t.diameter : '' };
    });
    return { things, drop: this.drop, dropTable: this.dropTable, factor: this.factor, room: this.room, by: this.by, unit: studio.unit };
  }

  async propose(): Promise<void> {
    const strange = this.counts.findIndex((c) => !/^\d{1,4}$/.test(c.trim()) || Number(c) < 1);
    if (strange >= 0) {
      this.wrong = `There cannot be ${this.counts[strange] || 'nothing'} of thing ${strange + 1}: a whole number is needed.`;
      return;
    }
    this.#flight?.abort();
    const mine = (this.#flight = new AbortController());
    const ask = this.#ask();
    this.busy = true;
    this.wrong = '';
    try {
      const shown = await api.contents(ask, mine.signal);
      if (mine.signal.aborted) return;
      this.shown = shown;
      this.asked = JSON.stringify(ask);
      this.size = 0;
      studio.notice = `${shown.sizes.length} inside ${shown.sizes.length === 1 ? 'size' : 'sizes'} found.`;
    } catch (cause) {
      if (mine.signal.aborted) return;
      this.wrong = cause instanceof api.Refused && cause.failure.help ? `${cause.failure.message}: ${cause.failure.help}.` : words(cause);
    }
    this.busy = false;
  }

  /** Looks for a style and board for a size. */
  async choose(size: ContentsSize): Promise<void> {
    this.#choosing?.abort();
    const mine = (this.#choosing = new AbortController());
    this.choosing = true;
    this.notChosen = '';
    const { title, inside, contents } = size.job;
    try {
      const state = { ...studio.job, title, inside, contents, set: {}, fitments: [], marks: [], splits: [] };
      const choices = await api.choose({ state, by: this.prefer }, mine.signal);
      if (mine.signal.aborted) return;
      this.choices = choices;
      this.chosenFor = size;
    } catch (cause) {
      if (mine.signal.aborted) return;
      this.notChosen = words(cause);
    }
    this.choosing = false;
  }

  /** Puts a size and what it is for into the job, with a style and board where given, and opens the case. */
  use(size: ContentsSize, made?: { style: string; board: string }): void {
    const { title, inside, contents } = size.job;
    const change = { title, inside, contents };
    studio.edit('contents', made ? { ...change, style: made.style, board: made.board, set: {} } : change);
    studio.notice = 'The case has this size now.';
    pages.go('case');
  }
}

export const packing = new Packing();
