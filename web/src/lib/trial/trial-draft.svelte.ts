import { trialInput, type Allergen, type TrialInput } from '@oddglass/shared/contracts/trial.ts';
import { fieldNotes } from '#lib/ui/field-notes.ts';

export const MIN_ARMS = 2;
export const MAX_ARMS = 8;

/** One arm as it is typed: an empty number is null. */
export interface ArmDraft {
  /** Only for the page: keeps fields with their arm when another is removed. */
  key: number;
  name: string;
  differs: string;
  volumeMl: number | null;
  /** Null means unknown. */
  abv: number | null;
  allergens: Allergen[];
}

/** A trial as it is typed, with two to eight arms. */
export class TrialDraft {
  title = $state('');
  question = $state('');
  factor = $state('');
  base = $state('');
  arms = $state<ArmDraft[]>([]);
  #made = 0;

  constructor() {
    for (let count = 0; count < MIN_ARMS; count += 1) this.addArm();
  }

  get mayAdd(): boolean {
    return this.arms.length < MAX_ARMS;
  }

  get mayRemove(): boolean {
    return this.arms.length > MIN_ARMS;
  }

  /** Arms share the base: a new one starts with the figures of the last, but with no name. */
  addArm(): void {
    if (!this.mayAdd) return;
    const last = this.arms.at(-1);
    this.#made += 1;
    this.arms.push({
      key: this.#made,
      name: '',
      differs: '',
      volumeMl: last?.volumeMl ?? null,
      abv: last?.abv ?? null,
      allergens: [...(last?.allergens ?? [])],
    });
  }

  removeArm(key: number): void {
    if (this.mayRemove) this.arms = this.arms.filter((arm) => arm.key !== key);
  }

  /** What is sent, or what each field (by JSON pointer) still needs. */
  read(): { input: TrialInput; notes: null } | { input: null; notes: Record<string, string> } {
    const typed = {
      title: this.title,
      question: this.question,
      factor: this.factor,
      base: this.base,
      arms: this.arms.map(({ name, differs, volumeMl, abv, allergens }) => ({
        name,
        differs,
        volumeMl,
        abv,
        allergens: [...allergens],
      })),
    };
    const read = trialInput.safeParse(typed);
    return read.success ? { input: read.data, notes: null } : { input: null, notes: fieldNotes(read.error) };
  }
}
