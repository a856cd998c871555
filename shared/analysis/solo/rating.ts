import type { SoloRating } from '../../contracts/solo.ts';
import type { SoloRatingResult } from '../../contracts/solo-result.ts';
import { inWords, listed, pEquals, plain } from '../../ground/phrases.ts';
import type { RandomSource } from '../../ground/random.ts';
import type { SoloState } from '../../rules/solo.ts';
import type { MethodFacts } from '../../stats/method.ts';
import { holm } from '../../stats/multiplicity.ts';
import { withinAssessors } from '../../stats/rating/within-assessors.ts';
import { caveatsOfSolo, uncounted, type SoloFacts } from './facts.ts';

type State = SoloState & { settings: SoloRating };
type AttributeTold = SoloRatingResult['attributes'][number];

const ASSUMPTION =
  'Were the arms alike, every order of the marks within a tray would be as likely, by the shuffle; trays are independent.';

/** What marks of one palate say of the arms: exact by the shuffle, tray by tray, Holm over the attributes. */
export function ratingOfSolo(state: State, facts: SoloFacts, random: RandomSource): SoloRatingResult {
  const { settings, plan } = state;
  const rows = settings.attributes.map((_, attribute) => rowsOf(state, attribute));
  const tests = rows.map((own) => withinAssessors({ rows: own, random }));
  const { adjusted, method, source } = holm({
    p: tests.map((test) => test?.p ?? null),
    planned: settings.attributes.length,
  });
  const attributes = settings.attributes.map((attribute, at): AttributeTold => {
    const own = rows[at] ?? [];
    const means = plan.arms.map(({ id, name }, column) => ({ armId: id, name, mean: meanOf(own, column) }));
    const told = { trays: own.length, means, p: tests[at]?.p ?? null, adjusted: adjusted[at] ?? null };
    return { ...attribute, ...told, says: saysOf(attribute.name, told, settings.alpha) };
  });
  const apart = attributes.filter((one) => one.adjusted !== null && one.adjusted <= settings.alpha);
  const counted = Math.max(0, ...attributes.map(({ trays }) => trays));
  const names = listed(plan.arms.map(({ name }) => name));
  const methods: MethodFacts[] = tests.flatMap((test) =>
    test
      ? [
          {
            method: `Randomisation test of marks within trays (${test.route})`,
            assumption: ASSUMPTION,
            source: test.source,
          },
        ]
      : [],
  );
  return {
    kind: 'rating',
    ...uncounted(state),
    counted,
    attributes,
    headline:
      counted === 0
        ? `No tray of ${names} counts, so nothing is known.`
        : apart.length > 0
          ? `One palate marked ${names} apart in ${listed(apart.map(({ name }) => name))}, over ${inWords(counted)} trays.`
          : `One palate did not mark ${names} apart, over ${inWords(counted)} trays.`,
    says:
      counted > 0 && apart.length === 0
        ? ['That does not mean that they are the same: few trays of one palate find large differences only.']
        : [],
    caveats: caveatsOfSolo(state, facts),
    methods: [
      ...methods.slice(0, 1),
      ...(settings.attributes.length > 1
        ? [{ method, source, assumption: 'All attributes are counted, marked or not.' }]
        : []),
    ],
  };
}

/** Trays that count, whole in this attribute: a mark for each arm, in the order of the plan. */
function rowsOf({ settings, plan, trays }: State, attribute: number): number[][] {
  return trays.flatMap(({ answer, stood }) => {
    if (answer?.kind !== 'marks' || stood?.asPlanned !== true) return [];
    const row = plan.arms.map(({ id }) => answer.marks[stood.armIds.indexOf(id)]?.[attribute] ?? null);
    const marks = row.filter((mark) => mark !== null);
    return marks.length === settings.armIds.length ? [marks] : [];
  });
}

const meanOf = (rows: readonly number[][], column: number): number | null =>
  rows.length === 0 ? null : rows.reduce((sum, row) => sum + (row[column] ?? 0), 0) / rows.length;

function saysOf(
  name: string,
  { means, p, adjusted }: Pick<AttributeTold, 'means' | 'p' | 'adjusted'>,
  alpha: number,
): string {
  if (p === null || adjusted === null) return `${name}: too few whole trays to compare.`;
  const sorted = means.toSorted((a, b) => (b.mean ?? 0) - (a.mean ?? 0));
  const marks = sorted.map(({ name: arm, mean }) => `${arm} ${plain(mean ?? 0)}`).join(', ');
  return adjusted <= alpha
    ? `${name}: marked apart (${marks}; ${pEquals(adjusted)}).`
    : `${name}: not marked apart (${marks}; ${pEquals(adjusted)}).`;
}
