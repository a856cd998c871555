import type { ServedFacts, SessionFacts } from '@oddglass/shared/contracts/result-common.ts';
import { asChosen, countOf } from '#lib/text/numbers.ts';

export interface PlanRow {
  name: string;
  value: string;
}

/** What was fixed for the whole tasting. */
export function tableRows(session: SessionFacts): PlanRow[] {
  return [
    { name: 'expected assessors', value: countOf(session.assessors) },
    { name: 'per cup', value: `${asChosen(session.cupMl)} mL` },
    ...(session.waves
      ? [
          {
            name: 'tasted in waves',
            value: `${countOf(session.waves.called)}, of at most ${countOf(session.waves.seatsAtOnce)}`,
          },
        ]
      : []),
    { name: 'rest between trays', value: `${countOf(session.restSeconds)} s` },
  ];
}

/** Who came to a part. */
export function cameRows(session: SessionFacts, served: ServedFacts): PlanRow[] {
  return [
    { name: 'seated', value: countOf(served.seated) },
    { name: 'assessors with an answer', value: countOf(served.assessors) },
    { name: 'answers', value: countOf(served.answers) },
    { name: 'left unanswered', value: countOf(served.unanswered) },
    { name: 'blinding', value: session.blinding },
  ];
}
