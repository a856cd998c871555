import type { SameDifferentPart } from '../../contracts/part.ts';
import type { Caveat } from '../../contracts/result-common.ts';
import { capital, inWords } from '../../ground/phrases.ts';
import { commonCaveats, plainCaveat } from '../common/caveats.ts';
import type { PartInput } from '../common/served.ts';
import type { SameDifferentFigures } from './result.ts';

/** What goes with a same-different test: what every part shares, then what its design left open. */
export function sameDifferentCaveats(
  input: PartInput<SameDifferentPart>,
  { served, test, orders, dPrime }: SameDifferentFigures,
): Caveat[] {
  const caveats = commonCaveats(input, served);
  if (served.answers === 0) return caveats;
  const add = (from: Caveat['from'], text: string): number => caveats.push(plainCaveat(from, text));
  if (!orders.balanced) add('serving', orders.reading);
  if (test.smallestP !== null && test.smallestP > test.alpha) {
    add(
      'design',
      `With so many answers, and ‘different’ said so often, the smallest p this test could give is ${Number(test.smallestP.toPrecision(2))}.`,
    );
  }
  if (test.leftOut > 0) {
    add(
      'design',
      `${capital(inWords(test.leftOut))} ${test.leftOut === 1 ? 'answer is' : 'answers are'} not in the test, since the other tray of the two stayed unanswered.`,
    );
  }
  add(
    'design',
    'When a pair is called different is a matter of people’s own criterion. The test does not depend on it; how much it finds does.',
  );
  if (dPrime !== null && dPrime.lower > 0 && test.p > test.alpha) {
    add(
      'design',
      'The interval of d′ lies above 0 although no difference was demonstrated: it holds in large panels only, and the exact test decides.',
    );
  }
  if (dPrime !== null && test.method === 'mcnemar') {
    add(
      'design',
      'People’s criteria differ, and d′ over all of them comes out lower than that of each would.',
    );
  }
  return caveats;
}
