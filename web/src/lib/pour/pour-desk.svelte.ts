import type {
  CupToPour,
  DilutionCheckInput,
  PourView,
  ServingConditions,
} from '@oddglass/shared/contracts/pour.ts';
import type { SessionState } from '@oddglass/shared/contracts/session.ts';
import { SvelteMap } from 'svelte/reactivity';
import { NoAnswer, type Fetch } from '#lib/api/client.ts';
import { checkDilution, getPour, noteDilution, noteServing, tickCups } from '#lib/api/session.ts';
import { isLocked } from './pour-sheet.ts';

interface Change {
  servingIds: string[];
  poured: boolean;
}

/** Ticks change from sealing until the tasting is closed; then the list only tells. */
export function isTicking(state: SessionState): boolean {
  return state === 'sealed' || state === 'open';
}

const RETRY_MS = 3000;

/**
 * What the steward has poured. The server's list is replaced whole, never patched; a tick that the server
 * has not acknowledged yet shows at once but is held apart, and is sent again until it is on disk.
 */
export class PourDesk {
  readonly session: string;
  view: PourView = $state.raw() as PourView;
  /** Ticks can still change. */
  ticking = $state(true);
  /** Ticks on the way: serving to what it shall become. */
  readonly underway = new SvelteMap<string, boolean>();
  /** The last change of this device, to undo. */
  last: Change | null = $state.raw(null);
  trouble: unknown = $state.raw(undefined);
  readonly #fetch: Fetch;
  #sending: Promise<void> = Promise.resolve();
  #reading = 0;

  constructor(session: string, view: PourView, ticking: boolean, fetch: Fetch) {
    this.session = session;
    this.view = view;
    this.ticking = ticking;
    this.#fetch = fetch;
  }

  isPoured(cup: CupToPour): boolean {
    return this.underway.get(cup.servingId) ?? cup.poured;
  }

  isUnderway(cup: CupToPour): boolean {
    return this.underway.has(cup.servingId);
  }

  /** Ticks or clears the cups that are not so yet. */
  mark(cups: readonly CupToPour[], poured: boolean): void {
    const servingIds = cups.filter((cup) => this.isPoured(cup) !== poured).map((cup) => cup.servingId);
    if (servingIds.length === 0) return;
    this.last = { servingIds, poured };
    this.#send({ servingIds, poured });
  }

  /** Some bottle waits for a second person, who may confirm on another device; no event tells of it. */
  get isWaiting(): boolean {
    return this.view.samples.some((sample) => sample.dilution?.standing === 'waiting' && isLocked(sample));
  }

  /** Notes what was measured for a spiked bottle; a refusal is thrown. */
  async noteDilution(sampleId: string, amount: string, volumeMl: number): Promise<void> {
    await noteDilution(this.#fetch, this.session, { sampleId, amount, volumeMl });
    await this.refresh();
  }

  /** Confirms the measurement that is shown; a refusal is thrown, with the list as it stands now. */
  async checkDilution(sampleId: string, measurement: number, by: DilutionCheckInput['by']): Promise<void> {
    try {
      await checkDilution(this.#fetch, this.session, { sampleId, measurement, by });
    } finally {
      await this.refresh();
    }
  }

  undo(): void {
    if (!this.last) return;
    const { servingIds, poured } = this.last;
    this.last = null;
    this.#send({ servingIds, poured: !poured });
  }

  /** Fetches the list anew; of several at a time only the latest counts. */
  async refresh(): Promise<void> {
    const reading = ++this.#reading;
    const view = await getPour(this.#fetch, this.session);
    if (reading === this.#reading) this.view = view;
  }

  /** Looks again without complaint: for news from other devices. */
  async look(): Promise<void> {
    try {
      await this.refresh();
      if (this.trouble instanceof NoAnswer && this.underway.size === 0) this.trouble = undefined;
    } catch (reason) {
      if (!(reason instanceof NoAnswer)) this.trouble = reason;
    }
  }

  // One after the other, so that a tick and its undo reach the server in that order.
  #send(change: Change): void {
    for (const id of change.servingIds) this.underway.set(id, change.poured);
    this.#sending = this.#sending.then(() => this.#deliver(change));
  }

  async #deliver({ servingIds, poured }: Change): Promise<void> {
    for (;;) {
      try {
        await tickCups(this.#fetch, this.session, { servingIds, poured });
        await this.refresh();
        this.trouble = undefined;
        break;
      } catch (reason) {
        this.trouble = reason;
        if (!(reason instanceof NoAnswer)) break;
        await new Promise((resolve) => setTimeout(resolve, RETRY_MS));
      }
    }
    // A later change to the same cup keeps its own mark until it is delivered.
    for (const id of servingIds) if (this.underway.get(id) === poured) this.underway.delete(id);
  }

  /** What was last noted of the cups, at one of several places or at the one there is. */
  notedAt(site: number | null): ServingConditions | null {
    if (site === null) return this.view.conditions;
    return this.view.siteConditions?.find((one) => one.site === site) ?? null;
  }

  /** Notes how the cups are served; what goes wrong is thrown, for the form to show. */
  async noteServing(conditions: ServingConditions): Promise<void> {
    const { conditions: noted, siteConditions } = await noteServing(this.#fetch, this.session, conditions);
    this.view = { ...this.view, conditions: noted, ...(siteConditions && { siteConditions }) };
  }
}
