import type { DifferencePart } from '../../contracts/part.ts';
import type { Caveat } from '../../contracts/result-common.ts';
import { differenceOf } from '../../kinds/kinds.ts';
import type { ChoiceFigures } from './result.ts';
import { commonCaveats, plainCaveat } from '../common/caveats.ts';
import type { PartInput } from '../common/served.ts';
import { inWords, upTo } from '../../ground/phrases.ts';

// Below this the smallest p the design could give belongs beside the result.
const SMALL_PANEL = 10;

/** What goes with a difference test: what every part shares, then what its design and serving left open. */
export function choiceCaveats(input: PartInput<DifferencePart>, figures: ChoiceFigures): Caveat[] {
  const { served, test, orders, replicates, similarity, settings, stronger, share } = figures;
  const { answers } = test;
  const caveats = commonCaveats(input, served);
  if (answers > 0 && !orders.balanced) caveats.push(plainCaveat('serving', orders.reading));
  if (answers > 0 && answers < SMALL_PANEL) {
    caveats.push(
      plainCaveat(
        'design',
        `With ${inWords(answers)} ${answers === 1 ? 'answer' : 'answers'} the smallest p this test could give is ${Number(test.smallestP.toPrecision(2))}.`,
      ),
    );
  }
  if (answers > 0 && !input.settings.masking) {
    caveats.push(
      plainCaveat(
        'serving',
        'No masking light: if the arms do not look alike in the cup, sight may have told them apart.',
      ),
    );
  }
  if (replicates) caveats.push(plainCaveat('design', replicates.reading));
  if (!similarity && answers > 0 && test.p > test.alpha) {
    const reach =
      share && share.upper > 0 ? `; the share of discriminators may be up to ${upTo(share.upper)}` : '';
    caveats.push(
      plainCaveat('design', `Not significant means that this panel demonstrated no difference${reach}.`),
    );
  }
  if (stronger) {
    caveats.push(
      plainCaveat(
        'generalisation',
        `Asked was only about “${stronger.attribute}”: the arms may differ in other things.`,
      ),
    );
    if (test.side === 'greater') {
      caveats.push(
        plainCaveat(
          'design',
          'The direction was fixed beforehand: a difference the other way round cannot show here.',
        ),
      );
    }
  } else if (answers > 0) {
    caveats.push(
      plainCaveat(
        'generalisation',
        `A ${differenceOf(settings).names.plain} says whether the arms can be told apart, not in what or which way.`,
      ),
    );
  }
  return caveats;
}
