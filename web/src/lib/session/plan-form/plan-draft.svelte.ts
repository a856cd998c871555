import { fieldNotes } from '#lib/ui/field-notes.ts';
import { assessPlan } from '@oddglass/shared/planner/planner.ts';
import { type PlanReading } from '@oddglass/shared/planner/plan-reading.ts';
import { part, type PartKind } from '@oddglass/shared/contracts/part.ts';
import {
  sessionInput,
  sessionSettings,
  type Lingering,
  type PaperEntry,
  type SessionSettings,
} from '@oddglass/shared/contracts/session.ts';
import type { ArmView } from '@oddglass/shared/contracts/trial.ts';
import { partErrors } from '@oddglass/shared/contracts/part-fit.ts';
import type { DifferencePartKind } from '@oddglass/shared/kinds/kind.ts';
import { onPaper } from '@oddglass/shared/paper/guarded.ts';
import { refusedSpikes } from '@oddglass/shared/contracts/refused-spikes.ts';
import { UNTOLD, untoldSpikes } from '@oddglass/shared/contracts/spike-fit.ts';
import { tableAllergens, type TableAllergens } from '@oddglass/shared/rules/allergens.ts';
import { waveCount, wavesOf } from '@oddglass/shared/rules/waves.ts';
import { revealsArmName } from '@oddglass/shared/rules/title.ts';
import { moved, PartDraft } from './part-draft.svelte.ts';
import { SiteDraft, sumOfSites } from './site-draft.svelte.ts';

export const MAX_PARTS = 4;
export const MAX_SITES = 8;
const EMPTY = 'Fill this in.';
const OPEN: readonly (string | undefined)[] = [EMPTY, UNTOLD.alcohol, UNTOLD.allergens];

/** A plan as it is typed: an empty number is null. */
export class PlanDraft {
  readonly arms: readonly ArmView[];
  title = $state('');
  parts = $state.raw<readonly PartDraft[]>([]);
  /** Several places, or none: then it is one. */
  sites = $state.raw<readonly SiteDraft[]>([]);
  #assessors = $state<number | null>(12);
  #spareSeats = $state<number | null>(2);
  /** How many sit at a time; null: all of them. At several places nobody is called in waves. */
  seatsAtOnce = $state<number | null>(null);
  cupMl = $state<number | null>(40);
  restSeconds = $state<number | null>(90);
  /** What lingers in these drinks. */
  lingering = $state<Lingering[]>([]);
  masking = $state(false);
  servingNote = $state('');
  /** How often ballots on paper are entered; undefined: twice. */
  paperEntry = $state<PaperEntry>();
  /** The published tasting that it repeats: chosen with the draft, never here. */
  replicates = $state.raw<SessionSettings['replicates']>(undefined);
  /** Somebody tried to go on: from then on an empty text is an error too. */
  tried = $state(false);
  #made = 0;

  constructor(arms: readonly ArmView[], from?: SessionSettings) {
    this.arms = arms;
    if (!from) return;
    const { parts, sites = [], ...rest } = from;
    Object.assign(this, rest);
    this.sites = sites.map((site) => new SiteDraft(this.#nextKey(), site));
    this.parts = parts.map((part) => PartDraft.from(this.#nextKey(), part, arms));
  }

  /** Expected assessors and spare seats: of several places, what these have together. */
  get assessors(): number | null {
    return this.sites.length > 0 ? sumOfSites(this.sites, 'assessors') : this.#assessors;
  }
  set assessors(people: number | null) {
    this.#assessors = people;
  }
  get spareSeats(): number | null {
    return this.sites.length > 0 ? sumOfSites(this.sites, 'spareSeats') : this.#spareSeats;
  }
  set spareSeats(seats: number | null) {
    this.#spareSeats = seats;
  }

  /** One more place; the first two share the people there are. */
  addSite(): void {
    if (this.sites.length >= MAX_SITES) return;
    const made = (assessors: number | null, spareSeats: number | null) =>
      new SiteDraft(this.#nextKey(), { name: '', assessors, spareSeats });
    if (this.sites.length > 0) {
      this.sites = [...this.sites, made(6, 1)];
      return;
    }
    const [people, spare] = [this.#assessors ?? 12, this.#spareSeats ?? 0];
    const half = Math.max(1, Math.floor(people / 2));
    this.sites = [made(Math.max(1, people - half), Math.ceil(spare / 2)), made(half, Math.floor(spare / 2))];
  }

  /** Takes a place away; the last but one leaves one place, with the people of the one that stays. */
  removeSite(key: number): void {
    const left = this.sites.filter((site) => site.key !== key);
    const [only] = left;
    if (left.length === 1 && only) {
      this.#assessors = only.assessors;
      this.#spareSeats = only.spareSeats;
    }
    this.sites = left.length === 1 ? [] : left;
  }

  get mayAdd(): boolean {
    return this.parts.length < MAX_PARTS;
  }

  add(kind: PartKind): void {
    if (!this.mayAdd) return;
    // Half of the trays of a same-different test hold one arm only, so nothing else is asked on its cups.
    const last = this.parts.at(-1);
    const follows = last !== undefined && last.kind !== 'same-different';
    this.parts = [...this.parts, new PartDraft(this.#nextKey(), kind, this.arms, follows)];
  }

  /** Asks the same by another test. */
  exchange(index: number, kind: DifferencePartKind, trays: number): void {
    this.parts = this.parts.map((part, at) => (at === index ? part.as(this.#nextKey(), kind, trays) : part));
  }

  remove(key: number): void {
    this.parts = this.parts.filter((part) => part.key !== key);
  }

  move(key: number, by: -1 | 1): void {
    this.parts = moved(this.parts, key, by);
  }

  #typedWith(title: string, blank?: string): Record<string, unknown> {
    return {
      title,
      assessors: this.assessors,
      spareSeats: this.spareSeats,
      // A field that was emptied says nothing, as one that was never filled.
      ...(typeof this.seatsAtOnce === 'number' &&
        this.sites.length === 0 && { seatsAtOnce: this.seatsAtOnce }),
      cupMl: this.cupMl,
      restSeconds: this.restSeconds,
      ...(this.lingering.length > 0 && { lingering: this.lingering }),
      masking: this.masking,
      servingNote: this.servingNote,
      ...(this.paperEntry && { paperEntry: this.paperEntry }),
      ...(this.sites.length > 0 && { sites: this.sites.map((site) => site.typed(blank)) }),
      parts: this.parts.map((part, index) => part.typed(index, blank)),
      ...(this.replicates && { replicates: this.replicates }),
    };
  }

  #typed = $derived.by(() => this.#typedWith(this.title));
  #read = $derived(sessionInput.safeParse(this.#typed));
  // The title and texts that are still empty have no part in what a plan can tell.
  #planned = $derived.by(() => sessionSettings.safeParse(this.#typedWith('Untitled', 'unnamed')));

  /** The arms that are poured; a part whose fields do not stand yet counts with what is chosen in it. */
  chosen = $derived.by((): ArmView[] => {
    const ids = this.parts.flatMap((part, index) => {
      if (part.isChoice) return [part.firstArm, part.secondArm];
      if (part.borrows(index)) return [];
      const named = part.samples.map(({ armId }) => armId);
      return part.kind === 'control' ? [part.controlArm, ...named] : named;
    });
    return this.arms.filter(({ id }) => ids.includes(id));
  });

  // The contract looks at what does not fit together only once every field stands; here it is said at once.
  #troubles(): Record<string, string> {
    const parts = part.array().safeParse(this.#typed['parts']);
    const troubles = parts.success
      ? [...partErrors(parts.data), ...refusedSpikes(parts.data), ...untoldSpikes(parts.data)]
      : [];
    return Object.fromEntries(troubles.map(({ at, message }) => [`#/parts/${at.join('/')}`, message]));
  }

  /** What each field, by JSON pointer, still needs. */
  notes = $derived.by((): Record<string, string> => {
    const notes = this.#read.success ? {} : { ...this.#troubles(), ...fieldNotes(this.#read.error) };
    const names = this.chosen.map(({ name }) => name);
    if (this.title !== '' && revealsArmName(this.title, names)) {
      notes['#/title'] = 'Assessors see this title: leave the names of the arms out of it.';
    }
    for (const [at, { name }] of this.sites.entries()) {
      if (name !== '' && revealsArmName(name, names))
        notes[`#/sites/${at}/name`] = 'Whoever sits down reads this: leave the names of the arms out of it.';
    }
    return notes;
  });

  /** What is sent; null while a field needs another look. */
  settings = $derived(this.#read.success && Object.keys(this.notes).length === 0 ? this.#read.data : null);

  /** What the plan could and could not tell; null while its numbers do not stand. */
  reading = $derived.by((): PlanReading | null =>
    this.#planned.success ? assessPlan(this.#planned.data, [...this.chosen]) : null,
  );

  /** What would stand on the table; null while the numbers do not stand. */
  allergens = $derived.by((): TableAllergens | null =>
    this.#planned.success ? tableAllergens(this.#planned.data.parts, this.chosen) : null,
  );

  /** What becomes of its questions on paper; null while the numbers do not stand. */
  onPaper = $derived.by((): string[] | null =>
    this.#planned.success ? this.#planned.data.parts.flatMap(onPaper) : null,
  );

  /** How many waves it makes; null while everybody sits at once, or its numbers do not stand. */
  inWaves = $derived.by((): number | null => {
    const waves = this.#planned.success ? wavesOf(this.#planned.data, null) : null;
    return waves && waveCount(waves);
  });

  /** The plan asks for more of an arm than is left. */
  tooMuch = $derived(this.reading?.liquid.some(({ enough }) => !enough) ?? false);

  /** What to say at a field now: an empty text is not complained about while somebody still types. */
  note(pointer: string): string | undefined {
    const words = this.notes[pointer];
    const quiet = OPEN.includes(words) || pointer === '#/parts';
    return quiet && !this.tried ? undefined : words;
  }

  /** Does this differ from what is kept? */
  differsFrom(kept: SessionSettings): boolean {
    const mine = this.#read.success ? this.#read.data : this.#typed;
    return JSON.stringify(ordered(mine)) !== JSON.stringify(ordered(kept));
  }

  #nextKey(): number {
    this.#made += 1;
    return this.#made;
  }
}

/** The same value with the keys of every object in one order. */
function ordered(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(ordered);
  if (typeof value !== 'object' || value === null) return value;
  return Object.entries(value)
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([key, inner]) => [key, ordered(inner)]);
}
