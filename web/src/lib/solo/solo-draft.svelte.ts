import type { Attribute } from '@oddglass/shared/contracts/part.ts';
import { soloSettings, type SoloSettings } from '@oddglass/shared/contracts/solo.ts';
import type { ArmView } from '@oddglass/shared/contracts/trial.ts';
import { offerSolo, readSolo, type SoloOffer, type SoloReading } from '@oddglass/shared/planner/solo.ts';
import { soloPour } from '@oddglass/shared/rules/solo.ts';
import { attributeIds } from '#lib/session/plan-form/attribute-ids.ts';
import { FIRST_ATTRIBUTES, type CommonAttribute } from '#lib/session/plan-form/common-attributes.ts';
import { fieldNotes } from '#lib/ui/field-notes.ts';

export const MAX_SOLO_ATTRIBUTES = 3;
const USUAL_ML = 20;
// Cups of each arm that a form begins with, where there is liquid for them: a large difference is found in some quiet evenings. Our own; no source.
const USUAL_CUPS = 24;

/** The plan of a series as it is typed. */
export class SoloDraft {
  readonly arms: readonly ArmView[];
  /** Null: the method that is proposed. */
  #kind = $state<SoloSettings['kind'] | null>(null);
  first = $state('');
  second = $state('');
  /** Of a rating. */
  rated = $state<string[]>([]);
  cupMl = $state<number | null>(USUAL_ML);
  /** Cups of each arm that can be poured. */
  cupsEach = $state<number | null>(null);
  alpha = $state<number | null>(0.05);
  dPrime = $state<number | null>(2);
  byLines = $state<'after-all' | 'by-lines'>('after-all');
  attributes = $state<CommonAttribute[]>([]);
  tried = $state(false);

  constructor(arms: readonly ArmView[]) {
    this.arms = arms;
    [this.first, this.second] = [arms[0]?.id ?? '', arms[1]?.id ?? ''];
    this.rated = arms.slice(0, 3).map(({ id }) => id);
    const free = Math.min(...arms.slice(0, 2).map(({ volumeMl }) => Math.max(0, volumeMl)));
    this.cupsEach = Math.min(USUAL_CUPS, Math.floor(free / USUAL_ML));
    this.attributes = [...FIRST_ATTRIBUTES.slice(0, 1)];
  }

  /** What each method finds with these cups, most power first. */
  get offers(): SoloOffer[] {
    const { cupsEach, alpha, dPrime } = this;
    const fits =
      typeof cupsEach === 'number' &&
      Number.isInteger(cupsEach) &&
      cupsEach >= 0 &&
      cupsEach <= 200 &&
      typeof alpha === 'number' &&
      alpha > 0 &&
      alpha <= 0.25 &&
      typeof dPrime === 'number' &&
      dPrime >= 0.5 &&
      dPrime <= 4;
    return fits ? offerSolo({ cupsEach, alpha, dPrime }) : [];
  }

  /** Undefined while no method finds anything with these cups. */
  get proposed(): SoloOffer['kind'] | undefined {
    return this.offers.find(({ power }) => power > 0)?.kind;
  }

  get kind(): SoloSettings['kind'] {
    return this.#kind ?? this.proposed ?? 'triangle';
  }
  set kind(kind: SoloSettings['kind']) {
    this.#kind = kind;
  }

  /** Trays that the cups make. */
  get trays(): number {
    const { each } = soloPour({ kind: this.kind, armIds: this.rated });
    return Math.min(30, Math.floor((this.cupsEach ?? 0) / each));
  }

  get #typed(): unknown {
    const { kind, cupMl, alpha, trays } = this;
    if (kind !== 'rating')
      return {
        kind,
        armIds: [this.first, this.second],
        stopping: this.byLines,
        trays,
        cupMl,
        alpha,
        beta: 0.2,
        dPrime: this.dPrime,
      };
    const ids = attributeIds(this.attributes.map(({ id, name }) => ({ id: id === '' ? null : id, name })));
    const attributes = this.attributes.map(({ name, low, high }, at): Attribute => ({
      id: ids[at] ?? '',
      name,
      low,
      high,
    }));
    return { kind, armIds: this.rated, trays: Math.min(20, trays), cupMl, alpha, attributes };
  }

  /** Null while something is missing. */
  get settings(): SoloSettings | null {
    return soloSettings.safeParse(this.#typed).data ?? null;
  }
  get notes(): Record<string, string> {
    const { error } = soloSettings.safeParse(this.#typed);
    return error ? fieldNotes(error) : {};
  }
  /** Said at a field once it was tried. */
  note(pointer: string): string | undefined {
    return this.tried ? this.notes[pointer] : undefined;
  }

  get reading(): SoloReading | null {
    const { settings } = this;
    return settings ? readSolo(settings, this.arms) : null;
  }

  add(attribute: CommonAttribute): void {
    if (this.attributes.length < MAX_SOLO_ATTRIBUTES) this.attributes.push(attribute);
  }
  remove(at: number): void {
    this.attributes.splice(at, 1);
  }
}
