import type { Caveat, TriangleResult } from '../contracts/result.ts';
import { inWords, percent } from './words.ts';

type Figures = Omit<TriangleResult, 'finding' | 'caveats' | 'methods'>;

// Below this the smallest p the design could give belongs beside the result.
const SMALL_PANEL = 10;

/** What goes with the result: deviations of the arms, and how the session was run. */
export function triangleCaveats(
  result: Figures,
  deviations: readonly { armId: string; on: string; note: string }[],
): Caveat[] {
  const { session, plan, served, test, orders, replicates, similarity } = result;
  const plainCaveat = (from: Caveat['from'], text: string): Caveat => ({ from, arm: null, on: null, text });
  const caveats: Caveat[] = deviations.map(({ armId, on, note }) => ({
    from: 'deviation',
    arm: session.arms.find(({ id }) => id === armId)?.name ?? null,
    on,
    text: note,
  }));
  if (session.blinding === 'single') {
    caveats.push(
      plainCaveat(
        'blinding',
        'Single-blind: the host poured and knew the key, so manner or tray could have told something.',
      ),
    );
  }
  const expected = plan.assessors * plan.replicates;
  if (test.answers > 0 && test.answers < expected) {
    caveats.push(
      plainCaveat(
        'serving',
        `${test.answers} answers instead of the ${expected} planned: the power is that of the answers given.`,
      ),
    );
  }
  if (served.unanswered > 0) {
    caveats.push(
      plainCaveat(
        'serving',
        `${served.unanswered === 1 ? 'One tray' : `${served.unanswered} trays`} at taken seats stayed unanswered. They are missing, not wrong.`,
      ),
    );
  }
  if (!orders.balanced) caveats.push(plainCaveat('serving', orders.reading));
  if (test.answers > 0 && test.answers < SMALL_PANEL) {
    caveats.push(
      plainCaveat(
        'design',
        `With ${inWords(test.answers)} ${test.answers === 1 ? 'answer' : 'answers'} the smallest p this test could give is ${Number(test.smallestP.toPrecision(2))}.`,
      ),
    );
  }
  if (replicates) caveats.push(plainCaveat('design', replicates.reading));
  if (!similarity && test.answers > 0 && test.p > test.alpha) {
    caveats.push(
      plainCaveat(
        'design',
        `Not significant means that this panel demonstrated no difference; up to ${percent(Math.max(0, result.share?.upper ?? 1))} of people may still tell.`,
      ),
    );
  }
  caveats.push(
    plainCaveat(
      'generalisation',
      'The result speaks for people like these assessors, this batch and that day’s conditions.',
    ),
  );
  return caveats;
}
