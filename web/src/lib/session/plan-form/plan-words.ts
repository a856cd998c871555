import { percent } from '#lib/text/numbers.ts';
import type { DifferenceReading, PlanReading } from '@oddglass/shared/planner/plan-reading.ts';
import type { Aim, PartKind } from '@oddglass/shared/contracts/part.ts';
import { choiceOf, isChoiceKind, kindOf } from '@oddglass/shared/kinds/kinds.ts';

/** What the glance needs to know of a part as it is typed. */
export interface Glanced {
  aim: Aim;
  alpha: number | null;
  beta: number | null;
  /** Empty: no direction was written down. */
  strongerArm: string;
}

/** A pair without a direction has no right answer: what counts is how many name one and the same arm. */
const isTwoSided = (part: { kind: PartKind }, { strongerArm }: Pick<Glanced, 'strongerArm'>): boolean =>
  isChoiceKind(part) && choiceOf(part).stronger === 'may-be-named' && strongerArm === '';

/** The chance a plan aims at: the risks change places when similarity is to be shown. */
export function wantedChance({ aim, alpha, beta }: Glanced): number | null {
  const risk = aim === 'similarity' ? alpha : beta;
  return risk === null ? null : 1 - risk;
}

/** The reading of a plan in one line. */
export function glanceOf(reading: PlanReading, parts: readonly Glanced[]): string {
  const several = reading.parts.length > 1;
  const words = reading.parts.map((part, index) => {
    const typed = parts[index];
    const said =
      part.difference && typed
        ? glanceOfDifference(part.difference, typed, {
            short: several,
            right: isTwoSided(part, typed) ? 'for one arm' : 'right',
          })
        : part.cupsEach === 0
          ? 'on the cups before'
          : `${part.cupsEach} cups each`;
    return part.difference && !several ? said : `${kindOf(part).names.plain}: ${said}`;
  });
  if (reading.liquid.some(({ enough }) => !enough)) words.push('not enough liquid');
  return words.join(' · ');
}

function glanceOfDifference(
  reading: DifferenceReading,
  typed: Glanced,
  { short, right }: { short: boolean; right: string },
): string {
  const { answers, critical, mostCorrect, power, smallestAssessors } = reading;
  const difference = typed.aim === 'difference';
  const count = difference ? critical : mostCorrect;
  const words = [
    count === null ? 'shows nothing' : `${count} of ${answers} ${right} ${difference ? 'needed' : 'at most'}`,
    `power ${percent(power)}`,
  ];
  const wanted = wantedChance(typed);
  if (!short && wanted !== null) {
    const panel = smallestAssessors ? `${smallestAssessors.first} assessors` : 'no panel of up to 2,000';
    words.push(`${panel} for ${percent(wanted)}`);
  }
  return words.join(short ? ', ' : ' · ');
}
