// What surrounds the case on its way. It lives beside the page, so that coming back shows the same.
import type { ShipAsk, ShipConditions, ShipLists, ShipShown } from '../wire';
import * as api from './api';
import { words } from './file';
import { studio } from './studio.svelte';

/** Changes within this time are asked about once. */
const PAUSE_MS = 250;

class Shipping {
  lists = $state.raw<ShipLists | null>(null);
  /** What was typed where a plain number is needed. */
  days = $state('30');
  humidity = $state('50');
  high = $state('');
  on = $state<Omit<ShipConditions, 'days' | 'humidity' | 'high'>>({
    mass: '',
    pattern: 'column-aligned',
    overhang: '',
    deckGap: false,
    handling: false,
    above: '',
    rule: 'losses',
    losses: '',
    grades: '',
    parcels: '',
    pallet: '',
    height: '1800mm',
    load: '',
  });
  shown = $state.raw<ShipShown | null>(null);
  /** What is shown was asked so. */
  asked = $state.raw<ShipAsk | null>(null);
  /** Which of the loads is looked at; null for the one that stands as the pattern asks. */
  load = $state<number | null>(null);
  busy = $state(false);
  wrong = $state('');
  #flight: AbortController | null = null;
  #timer = 0;

  async begin(): Promise<void> {
    if (this.lists) return;
    try {
      const lists = (this.lists = await api.shipLists());
      this.on.losses ||= lists.losses[0]?.name ?? '';
      this.on.grades ||= lists.grades[0]?.name ?? '';
      this.on.parcels ||= lists.parcels[0]?.name ?? '';
      this.on.pallet ||= lists.pallets[0]?.name ?? '';
    } catch (cause) {
      this.wrong = words(cause);
    }
  }

  #conditions(): ShipConditions | string {
    const number = (text: string) => (/^\d+(\.\d+)?$/.test(text.trim()) ? Number(text) : null);
    const days = number(this.days);
    const humidity = number(this.humidity);
    if (days === null) return 'Days under load: a number is needed.';
    if (humidity === null) return 'Humidity: a number of percent is needed.';
    if (this.high.trim() === '') return { ...this.on, days, humidity };
    const high = number(this.high);
    if (high === null || !Number.isInteger(high) || high < 1) return 'How many on one another: a whole number is needed.';
    return { ...this.on, days, humidity, high };
  }

  /** Asks once the typing rests. */
  ask(): void {
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.#run(), PAUSE_MS);
  }

  async #run(): Promise<void> {
    this.#flight?.abort();
    const mine = (this.#flight = new AbortController());
    const on = this.#conditions();
    if (typeof on === 'string') {
      this.wrong = on;
      this.busy = false;
      return;
    }
    this.busy = true;
    try {
      const ask: ShipAsk = { state: studio.job, unit: studio.unit, on };
      const shown = await api.ship(ask, mine.signal);
      if (mine.signal.aborted) return;
      this.asked = ask;
      this.shown = shown;
      this.load = null;
      this.wrong = '';
    } catch (cause) {
      if (mine.signal.aborted) return;
      this.wrong = cause instanceof api.Refused && cause.failure.help ? `${cause.failure.message}: ${cause.failure.help}.` : words(cause);
    }
    this.busy = false;
  }
}

export const shipping = new Shipping();
