import { fieldNotes } from '#lib/trial/field-notes.ts';
import { readTrianglePlan, type TrianglePlanReading } from '@oddglass/shared/analysis/triangle-plan.ts';
import { triangleSettings, type Aim, type TriangleSettings } from '@oddglass/shared/contracts/session.ts';
import type { ArmView } from '@oddglass/shared/contracts/trial.ts';
import { titleTells } from '@oddglass/shared/rules/title.ts';

// The title has no part in what a plan can tell; the planner answers before there is one.
const planned = triangleSettings.omit({ title: true });

/** A plan as it is typed: an empty number is null. */
export class PlanDraft {
  readonly arms: readonly ArmView[];
  title = $state('');
  firstArm = $state('');
  secondArm = $state('');
  assessors = $state<number | null>(12);
  spareSeats = $state<number | null>(2);
  replicates = $state<number | null>(1);
  alpha = $state<number | null>(0.05);
  aim = $state<Aim>('difference');
  meaningfulShare = $state<number | null>(0.5);
  beta = $state<number | null>(0.2);
  cupMl = $state<number | null>(40);
  restSeconds = $state<number | null>(60);
  masking = $state(false);
  servingNote = $state('');
  /** Somebody tried to go on: from then on an empty title is an error too. */
  tried = $state(false);

  constructor(arms: readonly ArmView[], from?: TriangleSettings) {
    this.arms = arms;
    this.firstArm = arms[0]?.id ?? '';
    this.secondArm = arms[1]?.id ?? '';
    if (!from) return;
    const { kind: _kind, armIds, ...rest } = from;
    this.firstArm = armIds[0] ?? '';
    this.secondArm = armIds[1] ?? '';
    Object.assign(this, rest);
  }

  #typed = $derived.by(() => ({
    kind: 'triangle' as const,
    title: this.title,
    armIds: [this.firstArm, this.secondArm],
    assessors: this.assessors,
    spareSeats: this.spareSeats,
    replicates: this.replicates,
    alpha: this.alpha,
    aim: this.aim,
    meaningfulShare: this.meaningfulShare,
    beta: this.beta,
    cupMl: this.cupMl,
    restSeconds: this.restSeconds,
    masking: this.masking,
    servingNote: this.servingNote,
  }));

  /** The two arms compared; fewer when one is not chosen. */
  chosen = $derived.by(() =>
    [this.firstArm, this.secondArm]
      .map((id) => this.arms.find((arm) => arm.id === id))
      .filter((arm) => arm !== undefined),
  );

  #read = $derived(triangleSettings.safeParse(this.#typed));

  /** What each field, by JSON pointer, still needs. */
  notes = $derived.by((): Record<string, string> => {
    const notes = this.#read.success ? {} : fieldNotes(this.#read.error);
    if (
      this.title !== '' &&
      titleTells(
        this.title,
        this.chosen.map(({ name }) => name),
      )
    ) {
      notes['#/title'] = 'Assessors see this title: leave the names of the arms out of it.';
    }
    return notes;
  });

  /** What is sent; null while a field needs another look. */
  settings = $derived(this.#read.success && Object.keys(this.notes).length === 0 ? this.#read.data : null);

  /** What the plan could and could not tell; null while its numbers do not stand. */
  reading = $derived.by((): TrianglePlanReading | null => {
    const read = planned.safeParse(this.#typed);
    if (!read.success || this.chosen.length !== 2) return null;
    return readTrianglePlan(read.data, this.chosen);
  });

  /** The plan asks for more of an arm than is left. */
  tooMuch = $derived(this.reading?.liquid.some(({ enough }) => !enough) ?? false);

  /** What to say at a field now. */
  note(pointer: string): string | undefined {
    const words = this.notes[pointer];
    const quiet = pointer === '#/title' && this.title === '' && !this.tried;
    return quiet ? undefined : words;
  }

  /** Does this differ from what is kept? */
  differsFrom(kept: TriangleSettings): boolean {
    return JSON.stringify(ordered(this.#typed)) !== JSON.stringify(ordered(kept));
  }
}

function ordered(settings: object): [string, unknown][] {
  return Object.entries(settings).sort(([a], [b]) => (a < b ? -1 : 1));
}
