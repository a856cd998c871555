import { sameDifferentFinding } from '../analysis/same-different/finding.ts';
import { sameDifferentMethods } from '../analysis/same-different/methods.ts';
import type { OrderCount } from '../contracts/publication.ts';
import type { SameDifferentResult } from '../contracts/result-same-different.ts';
import { bandOf } from '../ground/phrases.ts';
import { disclosable, type Cell } from './disclosure-cells.ts';
import { notesOf, wordTold } from './disclosure-choice.ts';
import { MIN_GROUP } from './disclosure.ts';
import type { DisclosureContext } from './disclosure-context.ts';

const WITHHELD = 'Not shown: groups this small could point to people.';

/**
 * What may be told of a same-different test. Hits and false alarms are the headline of a panel of ten or more and are told
 * together, as other counts over everybody; of fewer people each would be of a few, known by their trays, and then neither is told,
 * nor what follows from them: p stands at the upper end of its band.
 */
export function discloseSameDifferent(
  part: SameDifferentResult,
  context: DisclosureContext,
): { part: SameDifferentResult; orders: OrderCount[] } {
  const { tier, protections, withheld } = context;
  const coarse = protections.panelTiers && tier !== 'full';
  const each = Math.max(1, part.settings.replicates / 2);
  const fewest = Math.min(part.pairs.different.answers, part.pairs.same.answers);
  const whole = !coarse && !(protections.smallGroups && fewest / each < MIN_GROUP);
  const answers = part.settings.replicates;
  const told = (cells: readonly Cell[], blurBelow?: number): boolean =>
    disclosable(cells, answers, protections, blurBelow).every(Boolean);

  // Both orders of one sort add up to a count that is told, so that one gives the other away.
  const { rows } = part.orders;
  const sorts = [isAlike, (order: string) => !isAlike(order)].map((ofSort) =>
    rows.filter(({ order }) => ofSort(order)).map(({ served, counted }) => ({ answers: served, counted })),
  );
  const ordersTold = whole && sorts.every((cells) => told(cells, Infinity));
  const confidenceTold =
    whole &&
    (context.rowsTold ||
      told(part.confidence.rows.map(({ answers: given, counted }) => ({ answers: given, counted }))));
  const groups = [part.descriptors.different ?? 0, part.descriptors.same ?? 0] as const;
  const words = part.descriptors.rows.filter(
    (row) => whole && wordTold(row.word, [row.different, row.same], groups, context),
  );
  withheld.cells +=
    (whole ? 0 : 2) + (ordersTold ? 0 : rows.length) + (confidenceTold ? 0 : part.confidence.rows.length);

  const left: SameDifferentResult = {
    ...part,
    ...(whole ? {} : withoutCounts(part)),
    confidence: confidenceTold ? part.confidence : { rows: [], rIndex: null, reading: WITHHELD },
    orders: ordersTold ? part.orders : { ...part.orders, rows: [] },
    descriptors: {
      different: whole ? part.descriptors.different : null,
      same: whole ? part.descriptors.same : null,
      rows: words,
    },
    comments: protections.freeTextOff ? [] : part.comments,
  };
  const notes = notesOf(sameDifferentMethods(left), { confidence: confidenceTold, orders: ordersTold });
  return {
    part: { ...left, finding: sameDifferentFinding(left), methods: notes },
    orders: rows.map(({ order, served, counted }) => ({
      part: part.part,
      order,
      served,
      counted: ordersTold ? counted : null,
    })),
  };
}

const isAlike = (order: string): boolean => order[0] === order[1];

/** Everything that hits and false alarms could be worked out from. */
function withoutCounts({
  pairs,
  test,
}: SameDifferentResult): Pick<SameDifferentResult, 'pairs' | 'test' | 'dPrime' | 'bands'> {
  return {
    pairs: {
      different: { ...pairs.different, said: null },
      same: { ...pairs.same, said: null },
    },
    test: { ...test, counted: null, unlike: null, smallestP: null, p: bandOf(test.p) },
    dPrime: null,
    bands: true,
  };
}
