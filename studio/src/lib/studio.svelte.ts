import { flushSync } from 'svelte';
import type { Board, Case, Design, Finding, FieldError, Place, State, Style, Unit } from '../wire';
import * as api from './api';
import { decode, encode, type Theme } from './link';
import { join, pages, split } from './pages.svelte';
import { told } from './show';

export const START: State = {
  title: 'my case',
  style: 'slotted-case',
  inside: { length: '(280mm) + 2 * (10mm)', width: '(180mm) + 2 * (10mm)', depth: '(130mm) + 2 * (10mm)' },
  board: 'C',
  crease: 'rule',
  set: {},
  quantity: 1,
  drawing: { owner: '', creator: '', approved: '', number: '', date: '' },
};

/** What is lit in both views, and who lit it. */
export interface Light {
  panels: readonly string[];
  places: readonly Place[];
  stage: number | null;
}

const DARK: Light = { panels: [], places: [], stage: null };
/** Edits of one field within this time are one step for undo. */
const SAME_EDIT_MS = 900;

class Studio {
  job = $state.raw<State>(START);
  design = $state.raw<Design | null>(null);
  /** The last state that could be drawn: wrong input leaves it on the screen. */
  case = $state.raw<Case | null>(null);
  caseState = $state.raw<State>(START);
  pinned = $state.raw<{ case: Case; state: State } | null>(null);
  trouble = $state<string | null>(null);
  notice = $state('');
  styles = $state.raw<Style[]>([]);
  boards = $state.raw<Board[]>([]);
  unit = $state<Unit>('mm');
  theme = $state<Theme>('system');
  systemDark = $state(false);
  /** The job's name in the opened folder, and the stamp of the file it was read from. */
  file = $state.raw<{ name: string; stamp: string } | null>(null);
  saved = $state.raw<State | null>(null);

  hovered = $state<string | null>(null);
  selected = $state<string | null>(null);
  /** Lit by what has focus or the pointer in the questions: a field or a finding. */
  pointed = $state.raw<Light | null>(null);
  /** A finding that was clicked stays lit. */
  kept = $state.raw<Finding | null>(null);

  #past = $state.raw<State[]>([]);
  #future = $state.raw<State[]>([]);
  #lastEdit = { what: '', at: 0 };
  #flight: AbortController | null = null;
  #editAt = 0;
  #asked = false;
  #hash = 0;

  canUndo = $derived(this.#past.length > 0);
  canRedo = $derived(this.#future.length > 0);
  dark = $derived(this.theme === 'dark' || (this.theme === 'system' && this.systemDark));
  changed = $derived(this.saved !== null && JSON.stringify(this.saved) !== JSON.stringify(this.job));
  style = $derived(this.styles.find((s) => this.called(s) === this.job.style) ?? null);
  /** True while the screen shows an older state because the present one cannot be drawn. */
  stale = $derived(this.design !== null && this.design.case === null);

  light = $derived.by<Light>(() => {
    if (this.hovered) return { panels: [this.hovered], places: [], stage: null };
    if (this.pointed) return this.pointed;
    if (this.kept) return this.kept;
    if (this.selected) return { panels: [this.selected], places: [], stage: null };
    return DARK;
  });

  errors = $derived.by(() => {
    const by = new Map<string, FieldError[]>();
    for (const error of this.design?.fields ?? []) by.set(error.field, [...(by.get(error.field) ?? []), error]);
    return by;
  });

  /** What this job calls a style: files of the folder are counted from the job's own place. */
  called(style: Style): string {
    if (!style.own) return style.name;
    const up = (this.job.job ?? '').split('/').length - 1;
    return '../'.repeat(up) + style.name;
  }

  async readStyles(): Promise<void> {
    try {
      this.styles = await api.styles();
    } catch (cause) {
      this.trouble = cause instanceof Error ? cause.message : String(cause);
    }
  }

  edit(what: string, change: Partial<State>): void {
    const now = performance.now();
    if (this.#lastEdit.what !== what || now - this.#lastEdit.at > SAME_EDIT_MS) this.#past = [...this.#past.slice(-199), this.job];
    this.#lastEdit = { what, at: now };
    this.#future = [];
    const next = { ...this.job, ...change };
    // What is left out is no part of the state, so that two states that say the same are equal.
    for (const key of ['caliper', 'axisDepth', 'sheet', 'bed', 'noMeasured'] as const) if (next[key] === undefined) delete next[key];
    this.#become(next);
  }

  /** Sets one of the things a job may leave out, or leaves it out. */
  put<K extends 'caliper' | 'axisDepth' | 'sheet' | 'bed' | 'noMeasured'>(key: K, value: State[K]): void {
    this.edit(key, { [key]: value });
  }

  setParameter(name: string, value: string): void {
    const set = { ...this.job.set };
    if (value === '') delete set[name];
    else set[name] = value;
    this.edit(`set.${name}`, { set });
  }

  /** Puts a finding's cure in place, a parameter at a time as the server worded it. */
  cure(finding: Finding): void {
    if (!finding.fix) return;
    const next: State = { ...this.job, set: { ...this.job.set }, inside: { ...this.job.inside } };
    for (const [name, value] of Object.entries(finding.fix.set)) {
      const side = name.replace(/^inside\./, '');
      if (side === 'length' || side === 'width' || side === 'depth') next.inside[side] = value;
      else next.set[name.replace(/^set\./, '')] = value;
    }
    this.kept = null;
    this.pointed = null;
    this.edit(`cure ${finding.code}`, next);
    this.notice = `Done: ${told(this.unit, finding.fix.label, finding.fix.labelIn)}`;
  }

  undo(): void {
    const back = this.#past.at(-1);
    if (!back) return;
    this.#past = this.#past.slice(0, -1);
    this.#future = [this.job, ...this.#future];
    this.#lastEdit = { what: '', at: 0 };
    this.#become(back);
  }

  redo(): void {
    const next = this.#future[0];
    if (!next) return;
    this.#future = this.#future.slice(1);
    this.#past = [...this.#past, this.job];
    this.#lastEdit = { what: '', at: 0 };
    this.#become(next);
  }

  /** Takes a whole state, from a file or a link, as one step. */
  take(state: State): void {
    this.#lastEdit = { what: '', at: 0 };
    this.selected = this.kept = this.pointed = this.hovered = null;
    this.edit('take', state);
    this.#lastEdit = { what: '', at: 0 };
  }

  #become(state: State): void {
    this.job = state;
    this.#editAt = performance.now();
    this.#ask();
    this.writeLink();
  }

  /** Asks for a new drawing once all changes of this task are in; an older question is dropped. */
  #ask(): void {
    if (this.#asked) return;
    this.#asked = true;
    queueMicrotask(() => {
      this.#asked = false;
      void this.#draw();
    });
  }

  async #draw(): Promise<void> {
    this.#flight?.abort();
    const flight = (this.#flight = new AbortController());
    const start = this.#editAt;
    const state = this.job;
    try {
      const design = await api.design(state, flight.signal);
      if (flight.signal.aborted) return;
      // Both views paint in this very task, so that what is seen always belongs together.
      flushSync(() => {
        this.trouble = null;
        this.design = design;
        if (design.case) {
          this.case = design.case;
          this.caseState = state;
          this.#forget(design.case);
        }
      });
      afterPaint(() => performance.measure('edit-to-paint', { start, end: performance.now() }));
    } catch (cause) {
      if (flight.signal.aborted) return;
      this.trouble = cause instanceof Error ? cause.message : String(cause);
    }
  }

  /** Drops lights on panels that are no longer there. */
  #forget(shown: Case): void {
    const keys = new Set(shown.pieces.flatMap((piece) => piece.panels.map((p) => p.key)));
    const has = (key: string) => keys.has(key);
    if (this.selected && !has(this.selected)) this.selected = null;
    if (this.hovered && !has(this.hovered)) this.hovered = null;
    const kept = this.kept;
    if (kept) this.kept = shown.findings.find((f) => f.code === kept.code && f.panels.join() === kept.panels.join()) ?? null;
  }

  again(): void {
    this.#editAt = performance.now();
    this.#ask();
  }

  panelName(key: string): string {
    const shown = this.case;
    for (const piece of shown?.pieces ?? []) {
      const panel = piece.panels.find((p) => p.key === key);
      if (panel) return shown!.pieces.length > 1 ? `${piece.name}: ${panel.name}` : panel.name;
    }
    return '';
  }

  stepPanel(by: number): void {
    const panels = this.case?.pieces.flatMap((piece) => piece.panels) ?? [];
    if (panels.length === 0) return;
    const at = panels.findIndex((p) => p.key === this.selected);
    this.selected = panels[at < 0 ? (by > 0 ? 0 : panels.length - 1) : (at + by + panels.length) % panels.length]!.key;
  }

  /** A link to this very page, the case with it. */
  link(): string {
    return `${location.origin}${location.pathname}${join(pages.now, encode({ state: this.job, unit: this.unit, theme: this.theme }))}`;
  }

  writeLink(): void {
    clearTimeout(this.#hash);
    this.#hash = window.setTimeout(() => {
      // The address may have changed already, and the word of it be still on its way: it stands.
      if (split(location.hash).page === pages.now) history.replaceState(null, '', this.link());
    }, 250);
  }

  #readLink(): State | null {
    const { rest } = split(location.hash);
    const linked = rest && rest !== 'case' ? decode(rest, START) : null;
    if (!linked) return null;
    this.unit = linked.unit;
    this.theme = linked.theme;
    return linked.state;
  }

  async begin(): Promise<void> {
    const dark = matchMedia('(prefers-color-scheme: dark)');
    this.systemDark = dark.matches;
    dark.addEventListener('change', () => (this.systemDark = dark.matches));
    addEventListener('hashchange', () => {
      pages.now = split(location.hash).page;
      const state = this.#readLink();
      // Going from page to page leaves the case as it is.
      if (state && JSON.stringify(state) !== JSON.stringify(this.job)) this.take(state);
      else this.writeLink();
    });
    const state = this.#readLink();
    if (state) this.job = state;
    this.again();
    try {
      [this.styles, this.boards] = await Promise.all([api.styles(), api.boards()]);
    } catch (cause) {
      this.trouble = cause instanceof Error ? cause.message : String(cause);
    }
  }
}

/** Runs once the browser has painted the next frame. */
function afterPaint(then: () => void): void {
  requestAnimationFrame(() => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      port1.close();
      then();
    };
    port2.postMessage(null);
  });
}

export const studio = new Studio();
