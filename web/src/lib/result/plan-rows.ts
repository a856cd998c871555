import type { TriangleResult } from '@oddglass/shared/contracts/result.ts';
import { asChosen, countOf, percent } from './numbers.ts';

export interface PlanRow {
  name: string;
  value: string;
}

/** What was fixed by the seal before the first sip, and beside it who came. */
export function planRows({ plan, served, session }: TriangleResult): { fixed: PlanRow[]; came: PlanRow[] } {
  return {
    fixed: [
      { name: 'test', value: 'triangle, one-sided' },
      { name: 'aim', value: plan.aim },
      { name: 'alpha', value: asChosen(plan.alpha) },
      { name: 'beta', value: asChosen(plan.beta) },
      { name: 'share of discriminators that would matter', value: percent(plan.meaningfulShare) },
      { name: 'expected assessors', value: countOf(plan.assessors) },
      { name: 'trays per assessor', value: countOf(plan.replicates) },
      { name: 'per cup', value: `${asChosen(plan.cupMl)} mL` },
      { name: 'rest between trays', value: `${countOf(plan.restSeconds)} s` },
    ],
    came: [
      { name: 'seated', value: countOf(served.seated) },
      { name: 'assessors with an answer', value: countOf(served.assessors) },
      { name: 'trays answered', value: countOf(served.answers) },
      { name: 'trays left unanswered', value: countOf(served.unanswered) },
      { name: 'blinding', value: session.blinding },
    ],
  };
}
