// What is being cut. It lives beside the page, so that coming back shows the same.
import type { CutAsk, CutShown, LayoutEntry, Machine } from '../wire';
import * as api from './api';
import { words } from './file';
import { Player } from './player.svelte';

class Cutting {
  files = $state.raw<LayoutEntry[]>([]);
  machines = $state.raw<Machine[]>([]);
  loaded = $state(false);
  layout = $state('');
  machine = $state('');
  nicks = $state(true);
  leadIn = $state(false);
  shown = $state.raw<CutShown | null>(null);
  /** What is shown was asked so. */
  asked = $state.raw<CutAsk | null>(null);
  sheet = $state(0);
  busy = $state(false);
  wrong = $state('');
  readonly player = new Player();
  #flight: AbortController | null = null;

  async load(wanted: string | null): Promise<void> {
    try {
      [this.files, this.machines] = await Promise.all([api.layouts(), api.machines()]);
      this.loaded = true;
      // Of all machines the one with the largest bed takes most layouts.
      const bed = (m: Machine) => m.bed[0] * m.bed[1];
      this.machine ||= this.machines.toSorted((a, b) => bed(b) - bed(a))[0]?.name ?? '';
      if (wanted) this.layout = wanted;
      else if (!this.files.some((f) => f.name === this.layout)) this.layout = this.files[0]?.name ?? '';
      await this.run();
    } catch (cause) {
      this.wrong = words(cause);
    }
  }

  async run(): Promise<void> {
    this.#flight?.abort();
    const mine = (this.#flight = new AbortController());
    this.wrong = '';
    if (!this.layout || !this.machine) {
      this.busy = false;
      return;
    }
    this.busy = true;
    const ask: CutAsk = { layout: this.layout, machine: this.machine, nicks: this.nicks, leadIn: this.leadIn };
    try {
      const shown = await api.cut(ask, mine.signal);
      if (mine.signal.aborted) return;
      const same = this.asked?.layout === ask.layout;
      this.shown = shown;
      this.asked = ask;
      this.show(same && this.sheet < shown.sheets.length ? this.sheet : 0);
    } catch (cause) {
      if (mine.signal.aborted) return;
      this.shown = this.asked = null;
      this.player.load(null);
      this.wrong = cause instanceof api.Refused && cause.failure.help ? `${cause.failure.message}: ${cause.failure.help}.` : words(cause);
    }
    this.busy = false;
  }

  show(sheet: number): void {
    this.sheet = sheet;
    this.player.load(this.shown?.sheets[sheet] ?? null);
  }
}

export const cutting = new Cutting();
