import { percent } from '#lib/result/numbers.ts';
import type { TrianglePlanReading } from '@oddglass/shared/analysis/triangle-plan.ts';
import type { Aim } from '@oddglass/shared/contracts/session.ts';

/** The reading of a plan in one line. */
export function glanceOf(reading: TrianglePlanReading, aim: Aim, beta: number): string {
  const { answers, critical, mostCorrect, power, smallestAssessors, liquid } = reading;
  const count = aim === 'difference' ? critical : mostCorrect;
  const right = aim === 'difference' ? 'right needed' : 'right at most';
  const panel = smallestAssessors ? `${smallestAssessors.first} assessors` : 'no panel of up to 2,000';
  const parts = [
    count === null ? 'shows nothing' : `${count} of ${answers} ${right}`,
    `power ${percent(power)}`,
    `${panel} for ${percent(1 - beta)}`,
  ];
  if (liquid.some(({ enough }) => !enough)) parts.push('not enough liquid');
  return parts.join(' · ');
}
