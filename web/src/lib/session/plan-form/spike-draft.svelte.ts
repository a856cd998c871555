import type { Allergen } from '@oddglass/shared/contracts/common.ts';
import type { SampleInput } from '@oddglass/shared/contracts/part.ts';
import { spikeText, type SpikeCup } from '@oddglass/shared/vocabulary/spike-cups.ts';

/** Whether something was told; empty: nobody was asked yet. */
export type Telling = '' | 'told' | 'none' | 'unknown';

/** What is added to a spiked sample, as it is chosen or typed: an empty number is null. */
export class SpikeDraft {
  way = $state<'cup' | 'hand'>('cup');
  /** The reference cup that was chosen. */
  cup = $state.raw<SpikeCup | null>(null);
  /** By hand: what is added, and how much. */
  what = $state('');
  amount = $state<number | null>(null);
  unit = $state('mL');
  perMl = $state<number | null>(null);
  alcohol = $state<Telling>('');
  abv = $state<number | null>(null);
  allergensTold = $state<Telling>('');
  allergens = $state<Allergen[]>([]);

  /** As it was kept. */
  static from({
    spike,
    spikeDose,
    spikeReference,
    spikeAbv,
    spikeAllergens,
  }: Omit<SampleInput, 'armId' | 'role'>): SpikeDraft {
    const draft = new SpikeDraft();
    const by = <T>(value: readonly T[] | null | undefined): Telling =>
      value === undefined ? '' : value === null ? 'unknown' : value.length > 0 ? 'told' : 'none';
    draft.way = spike !== null && !spikeReference ? 'hand' : 'cup';
    draft.alcohol =
      spikeAbv === undefined ? '' : spikeAbv === null ? 'unknown' : spikeAbv === 'none' ? 'none' : 'told';
    draft.abv = typeof spikeAbv === 'number' ? spikeAbv : null;
    draft.allergensTold = by(spikeAllergens);
    draft.allergens = [...(spikeAllergens ?? [])];
    if (spikeReference && spikeDose) {
      // What a panel's own cup left open was told in the plan.
      const allergens = spikeReference.own === null ? [...draft.allergens] : null;
      draft.cup = { reference: spikeReference, dose: spikeDose, allergens, family: '' };
      return draft;
    }
    draft.what = spike ?? '';
    draft.amount = spikeDose?.amount ?? null;
    draft.unit = spikeDose?.unit ?? 'mL';
    draft.perMl = spikeDose?.perMl ?? null;
    return draft;
  }

  choose(cup: SpikeCup): void {
    this.cup = cup;
    this.alcohol = '';
    this.abv = null;
    this.allergensTold = '';
    this.allergens = [...(cup.allergens ?? [])];
  }

  /** Has the host to tell its alcohol? A reference cup mostly tells it. */
  get asksAlcohol(): boolean {
    return this.way === 'hand' || this.cup?.reference.abv === null;
  }

  get asksAllergens(): boolean {
    return this.way === 'hand' || this.cup?.allergens === null;
  }

  /** What is sent, as far as it stands; `words` fills an empty text for the planner. */
  typed(words: (value: string) => string): Record<string, unknown> {
    const { cup } = this;
    const told = { ...this.#typedAlcohol(), ...this.#typedAllergens() };
    if (this.way === 'hand') return { spike: words(this.what), ...this.#typedDose(), ...told };
    if (!cup) return { spike: words('') };
    return {
      spike: spikeText(cup),
      spikeDose: { ...cup.dose },
      spikeReference: { ...cup.reference },
      ...told,
    };
  }

  #typedAlcohol(): Record<string, unknown> {
    if (!this.asksAlcohol) return {};
    if (this.alcohol === 'none') return { spikeAbv: 'none' };
    if (this.alcohol === 'unknown') return { spikeAbv: null };
    // 'Told' without a number is not told; null would say that nobody knows.
    return this.alcohol === 'told' && this.abv !== null ? { spikeAbv: this.abv } : {};
  }

  #typedAllergens(): Record<string, unknown> {
    if (!this.asksAllergens) return { spikeAllergens: [...(this.cup?.allergens ?? [])] };
    if (this.allergensTold === 'none') return { spikeAllergens: [] };
    if (this.allergensTold === 'unknown') return { spikeAllergens: null };
    const named = this.allergensTold === 'told' && this.allergens.length > 0;
    return named ? { spikeAllergens: [...this.allergens] } : {};
  }

  #typedDose(): Record<string, unknown> {
    const { amount, unit, perMl } = this;
    return amount === null && perMl === null ? {} : { spikeDose: { amount, unit, perMl } };
  }
}
