import type {
  Aim,
  Attribute,
  FlightPart,
  Part,
  PartKind,
  RatingScale,
  SampleRole,
} from '@oddglass/shared/contracts/part.ts';
import type {
  ChoiceFacts,
  ChoicePartKind,
  DifferencePartKind,
  FlightPartKind,
} from '@oddglass/shared/kinds/kind.ts';
import { KINDS } from '@oddglass/shared/kinds/kinds.ts';
import { dPrimeOfShare, shareOfDPrime, SIZES } from '@oddglass/shared/planner/compare-tests.ts';
import { STARTER_LISTS, type StarterList } from '@oddglass/shared/vocabulary/starter-lists.ts';
import type { ArmView } from '@oddglass/shared/contracts/trial.ts';
import { attributeIds, type AttributeDraft } from './attribute-ids.ts';
import { COMPARED, FIRST_ATTRIBUTES, USUAL_DEGREES, type CommonAttribute } from './common-attributes.ts';
import { LateDraft } from './late-draft.svelte.ts';
import { SpikeDraft } from './spike-draft.svelte.ts';

// What a plan starts with: a medium difference.
const USUAL_SIZE = 1.5;
export const MAX_SAMPLES = 12;
export const MAX_ATTRIBUTES = 20;
export const MIN_DEGREES = 3;
export const MAX_DEGREES = 11;

/** A sample as it is typed. Keys are only for the page: they keep fields with their row. */
export interface SampleDraft {
  key: number;
  armId: string;
  role: SampleRole;
  /** What is added, for a spiked one. */
  spike: SpikeDraft;
}

export interface DegreeDraft {
  key: number;
  words: string;
}

/** One part as it is typed: an empty number is null. Holds what any kind asks for and sends what its own does. */
export class PartDraft {
  readonly key: number;
  readonly kind: PartKind;
  readonly arms: readonly ArmView[];
  firstArm = $state('');
  secondArm = $state('');
  /** Empty: none was named. */
  strongerArm = $state('');
  /** The one attribute of a comparison. */
  attribute = $state(COMPARED[0] ?? '');
  reference = $state<'constant' | 'balanced'>('balanced');
  noPreference = $state(false);
  replicates = $state<number | null>(1);
  warmUpTray = $state(false);
  alpha = $state<number | null>(0.05);
  aim = $state<Aim>('difference');
  meaningfulShare = $state<number | null>(null);
  /** Of a kind that has no share of discriminators. */
  dPrime = $state<number | null>(USUAL_SIZE);
  beta = $state<number | null>(0.2);
  cups = $state<'own' | 'before'>('own');
  samples = $state<SampleDraft[]>([]);
  cupsEach = $state<number | null>(null);
  attributes = $state<AttributeDraft[]>([]);
  scale = $state<RatingScale>('line');
  by = $state<'sample' | 'attribute'>('sample');
  returning = $state(true);
  offer = $state<'all' | 'chosen'>('chosen');
  words = $state<string[]>([...(STARTER_LISTS[0]?.words ?? [])]);
  intensity = $state(false);
  readonly late = new LateDraft();
  controlArm = $state('');
  degrees = $state<DegreeDraft[]>([]);
  #made = 0;

  /** A part with what it starts with; a description that follows another part is asked on its cups. */
  constructor(key: number, kind: PartKind, arms: readonly ArmView[], follows = false) {
    this.key = key;
    this.kind = kind;
    this.arms = arms;
    this.firstArm = arms[0]?.id ?? '';
    this.secondArm = arms[1]?.id ?? '';
    const { facts } = this;
    if (facts.group === 'choice' && facts.stronger === 'named') this.strongerArm = this.secondArm;
    if (this.isDifference) this.chooseSize(USUAL_SIZE);
    // Each palate gets both sorts of pairs.
    if (kind === 'same-different') this.replicates = 2;
    this.controlArm = this.firstArm;
    if (follows && kind === 'description') this.cups = 'before';
    for (const arm of arms) {
      if (kind !== 'control' || arm.id !== this.controlArm) this.addSample('sample', arm.id);
    }
    for (const one of FIRST_ATTRIBUTES) this.addAttribute(one);
    for (const words of USUAL_DEGREES) this.addDegree(words);
  }

  /** A part as it was kept. */
  static from(key: number, part: Part, arms: readonly ArmView[]): PartDraft {
    const draft = new PartDraft(key, part.kind, arms);
    draft.#take(part);
    return draft;
  }

  get facts(): (typeof KINDS)[PartKind] {
    return KINDS[this.kind];
  }

  get isChoice(): boolean {
    return this.facts.group === 'choice';
  }

  /** A test of difference, with its risks; a preference has none of that. */
  get isDifference(): boolean {
    return this.facts.group === 'choice' && this.facts.test !== null;
  }

  /**
   * With the aim the risks change places, so that each aim starts with its own: for likeness beta is the risk of a false
   * claim. Sources: ISO 4120 (alpha, beta and the limit that it names small); the limit of 0.3 is our own.
   */
  chooseAim(aim: Aim): void {
    if (aim === this.aim) return;
    this.aim = aim;
    if (aim === 'similarity') [this.alpha, this.beta, this.meaningfulShare] = [0.2, 0.05, 0.3];
    else {
      [this.alpha, this.beta] = [0.05, 0.2];
      this.chooseSize(USUAL_SIZE);
    }
  }

  get #testKind(): DifferencePartKind | null {
    const { facts } = this;
    return facts.group === 'choice' && facts.test !== null ? (facts.kind as DifferencePartKind) : null;
  }

  /** The size that matters as a difference that all tests share; its share of discriminators is that of this test. */
  chooseSize(dPrime: number): void {
    const kind = this.#testKind;
    if (kind !== null) this.meaningfulShare = Number(shareOfDPrime(kind, dPrime).toFixed(3));
  }

  /** The size by its name; null where a share of its own was typed. */
  get size(): (typeof SIZES)[number]['name'] | null {
    const kind = this.#testKind;
    const share = this.meaningfulShare;
    if (kind === null || share === null) return null;
    return SIZES.find(({ dPrime }) => Math.abs(shareOfDPrime(kind, dPrime) - share) < 0.0006)?.name ?? null;
  }

  /** The same question by another test: arms, risks and size stay, and so does what was said of a direction. */
  as(key: number, kind: DifferencePartKind, trays: number): PartDraft {
    const other = new PartDraft(key, kind, this.arms);
    other.firstArm = this.firstArm;
    other.secondArm = this.secondArm;
    other.attribute = this.attribute;
    other.strongerArm = this.strongerArm || this.secondArm;
    other.alpha = this.alpha;
    other.beta = this.beta;
    other.aim = this.aim;
    other.replicates = trays;
    const own = this.#testKind;
    const size =
      own === null || this.meaningfulShare === null ? null : dPrimeOfShare(own, this.meaningfulShare);
    // To the nearest of the usual sizes, so that a share rounded in one test is not carried on rounded.
    const usual = SIZES.find(({ dPrime }) => Math.abs(dPrime - (size ?? USUAL_SIZE)) < 0.02)?.dPrime;
    other.chooseSize(usual ?? size ?? USUAL_SIZE);
    return other;
  }

  /** May it be asked on the cups of the part before it? */
  mayBorrow(index: number): boolean {
    return index > 0 && this.facts.group === 'flight' && this.facts.mayBorrow;
  }

  /** Is it, standing at this place? */
  borrows(index: number): boolean {
    return this.mayBorrow(index) && this.cups === 'before';
  }

  get mayAddSample(): boolean {
    return this.samples.length < MAX_SAMPLES;
  }

  /** Adds a sample; without an arm named, the first that is not a sample yet, or the first that is one to repeat. */
  addSample(role: SampleRole, armId = this.#armFor(role)): void {
    if (!this.mayAddSample) return;
    const row = { key: this.#nextKey(), armId, role, spike: new SpikeDraft() };
    // A warm-up is served first, so it stands first here too.
    if (role === 'warm-up') this.samples.unshift(row);
    else this.samples.push(row);
  }

  removeSample(key: number): void {
    this.samples = this.samples.filter((sample) => sample.key !== key);
  }

  addAttribute({ id, name, low, high }: CommonAttribute | Attribute): void {
    if (this.attributes.length >= MAX_ATTRIBUTES) return;
    this.attributes.push({ key: this.#nextKey(), id, name, low, high });
  }

  addOwnAttribute(): void {
    if (this.attributes.length >= MAX_ATTRIBUTES) return;
    this.attributes.push({ key: this.#nextKey(), id: null, name: '', low: 'none', high: 'very strong' });
  }

  removeAttribute(key: number): void {
    this.attributes = this.attributes.filter((attribute) => attribute.key !== key);
  }

  moveAttribute(key: number, by: -1 | 1): void {
    this.attributes = moved(this.attributes, key, by);
  }

  addDegree(words = ''): void {
    if (this.degrees.length < MAX_DEGREES) this.degrees.push({ key: this.#nextKey(), words });
  }

  removeDegree(key: number): void {
    if (this.degrees.length > MIN_DEGREES) {
      this.degrees = this.degrees.filter((degree) => degree.key !== key);
    }
  }

  /** Starts again from a list for a kind of drink. */
  startFrom(id: StarterList['id']): void {
    const list = STARTER_LISTS.find((one) => one.id === id);
    if (list) this.words = [...list.words];
  }

  addWord(id: string): void {
    if (!this.words.includes(id)) this.words.push(id);
  }

  removeWord(id: string): void {
    this.words = this.words.filter((one) => one !== id);
  }

  /** Changing an arm of the pair; when it was the one expected to have more, the new one is. */
  chooseArm(place: 'firstArm' | 'secondArm', armId: string): void {
    if (this.strongerArm === this[place]) this.strongerArm = armId;
    this[place] = armId;
  }

  /** Changing the control takes it out of the samples and puts the former control there. */
  chooseControl(armId: string): void {
    const former = this.controlArm;
    this.controlArm = armId;
    for (const sample of this.samples) if (sample.armId === armId) sample.armId = former;
  }

  /** What is sent, as far as it stands. `blank` fills empty texts, so that the planner need not wait for them. */
  typed(index: number, blank = ''): Record<string, unknown> {
    const words = (value: string, key: number | string): string =>
      value.trim() === '' && blank !== '' ? `${blank} ${key}` : value;
    const { kind, alpha, replicates, facts } = this;
    if (facts.group === 'choice') return this.#typedChoice(facts, words);
    const borrowed = this.borrows(index);
    return {
      kind,
      cups: borrowed ? 'before' : 'own',
      samples: borrowed
        ? []
        : this.samples.map(({ key, armId, role, spike }) => ({
            armId,
            role,
            ...(role === 'spiked' ? spike.typed((value) => words(value, key)) : { spike: null }),
          })),
      replicates: borrowed ? 1 : replicates,
      cupsEach: borrowed ? null : this.cupsEach,
      alpha,
      ...this.#typedOfKind(facts.kind, words),
    };
  }

  #typedChoice(
    facts: ChoiceFacts<ChoicePartKind>,
    words: (value: string, key: string) => string,
  ): Record<string, unknown> {
    const { kind, alpha } = this;
    const armIds = [this.firstArm, this.secondArm];
    const warmUp = this.warmUpTray ? { warmUpTray: true } : {};
    if (kind === 'same-different') {
      const { replicates, beta, dPrime } = this;
      return { kind, armIds, replicates, ...warmUp, alpha, beta, dPrime };
    }
    if (facts.test === null) return { kind, armIds, ...warmUp, alpha, noPreference: this.noPreference };
    const shared = {
      kind,
      armIds,
      replicates: this.replicates,
      ...warmUp,
      alpha,
      aim: this.aim,
      meaningfulShare: this.meaningfulShare,
      beta: this.beta,
    };
    const reference = facts.reference ? { reference: this.reference } : {};
    const named = { ...shared, ...reference, attribute: words(this.attribute, 'attribute') };
    switch (facts.stronger) {
      case 'named':
        return { ...named, strongerArmId: this.strongerArm };
      case 'may-be-named':
        return { ...named, strongerArmId: this.strongerArm || null };
      case 'not-named':
        return { ...shared, ...reference };
    }
  }

  #typedOfKind(
    kind: FlightPartKind,
    words: (value: string, key: number | string) => string,
  ): Record<string, unknown> {
    switch (kind) {
      case 'rating': {
        const ids = attributeIds(this.attributes);
        return {
          attributes: this.attributes.map(({ key, name, low, high }, at) => ({
            id: ids[at],
            name: words(name, key),
            low: words(low, key),
            high: words(high, key),
          })),
          scale: this.scale,
          by: this.by,
          returning: this.returning,
        };
      }
      case 'description': {
        const words = this.offer === 'all' ? null : [...this.words];
        return { words, intensity: this.intensity, ...this.late.typed(words) };
      }
      case 'control':
        return {
          controlArmId: this.controlArm,
          degrees: this.degrees.map((degree) => words(degree.words, degree.key)),
        };
      case 'ranking':
        return { attribute: words(this.attribute, 'attribute') };
      case 'liking':
        return {};
    }
  }

  #take(part: Part): void {
    this.alpha = part.alpha;
    if ('armIds' in part) {
      this.firstArm = part.armIds[0] ?? '';
      this.secondArm = part.armIds[1] ?? '';
      this.warmUpTray = part.warmUpTray ?? false;
      if (part.kind === 'preference') this.noPreference = part.noPreference;
      else if (part.kind === 'same-different') {
        this.replicates = part.replicates;
        this.beta = part.beta;
        this.dPrime = part.dPrime;
      } else {
        this.replicates = part.replicates;
        this.aim = part.aim;
        this.meaningfulShare = part.meaningfulShare;
        this.beta = part.beta;
      }
      if ('reference' in part) this.reference = part.reference;
      if ('strongerArmId' in part) this.strongerArm = part.strongerArmId ?? '';
      if ('attribute' in part) this.attribute = part.attribute;
      return;
    }
    this.cups = part.cups;
    if (part.cups === 'own') {
      this.samples = [];
      for (const sample of part.samples) {
        const { armId, role } = sample;
        this.samples.push({ key: this.#nextKey(), armId, role, spike: SpikeDraft.from(sample) });
      }
      this.replicates = part.replicates;
      this.cupsEach = part.cupsEach;
    }
    this.#takeOfKind(part);
  }

  #takeOfKind(part: FlightPart): void {
    switch (part.kind) {
      case 'rating':
        this.attributes = [];
        for (const one of part.attributes) this.addAttribute(one);
        this.scale = part.scale;
        this.by = part.by;
        this.returning = part.returning;
        return;
      case 'description':
        this.offer = part.words === null ? 'all' : 'chosen';
        this.words = [...(part.words ?? [])];
        this.intensity = part.intensity;
        this.late.take(part.late);
        return;
      case 'control':
        this.controlArm = part.controlArmId;
        this.degrees = [];
        for (const words of part.degrees) this.addDegree(words);
        return;
      case 'ranking':
        this.attribute = part.attribute;
        return;
      case 'liking':
        return;
      default:
        part satisfies never;
    }
  }

  #armFor(role: SampleRole): string {
    const originals = this.samples.filter((sample) => sample.role === 'sample').map(({ armId }) => armId);
    if (role === 'duplicate') {
      const repeated = this.samples.filter((one) => one.role === role).map(({ armId }) => armId);
      return originals.find((armId) => !repeated.includes(armId)) ?? originals[0] ?? this.firstArm;
    }
    const taken = this.kind === 'control' ? [...originals, this.controlArm] : originals;
    const fresh = role === 'sample' ? this.arms.find(({ id }) => !taken.includes(id)) : undefined;
    return fresh?.id ?? originals[0] ?? this.arms[0]?.id ?? '';
  }

  #nextKey(): number {
    this.#made += 1;
    return this.#made;
  }
}

/** The list with one row moved up or down; unchanged at an end. */
export function moved<Row extends { key: number }>(rows: readonly Row[], key: number, by: -1 | 1): Row[] {
  const list = [...rows];
  const from = list.findIndex((row) => row.key === key);
  const to = from + by;
  const row = list[from];
  if (!row || to < 0 || to >= list.length) return list;
  list.splice(from, 1);
  list.splice(to, 0, row);
  return list;
}
