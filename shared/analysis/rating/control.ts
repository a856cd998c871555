import type { ControlPart } from '../../contracts/part.ts';
import type { Caveat, MethodNote } from '../../contracts/result-common.ts';
import type { ControlResult } from '../../contracts/result-rating.ts';
import { compareWithControl } from '../../stats/rating/compare-with-control.ts';
import { withinAssessors } from '../../stats/rating/within-assessors.ts';
import { plainCaveat } from '../common/caveats.ts';
import { controlFinding } from './control-words.ts';
import { markFigures } from './figures.ts';
import { markTable, type AskedMark, type MarkTable } from './marks.ts';
import { markCaveats, markMethods } from './notes.ts';
import { personMeans, ranksAgainst } from './ranks.ts';
import { verdictNote } from './verdict.ts';
import { dealtInBlocks, servedFacts, type PartInput } from '../common/served.ts';
import { plain } from '../../ground/phrases.ts';

/**
 * From degrees of difference to their result document: each sample compared with the hidden control, not with the marked
 * cup. The finding stands on the permutation test within people of the largest difference from it; which samples these are
 * is told by Dunnett's test where the table is full and by Holm on the mixed model's t otherwise. The mean degree given to
 * the hidden control is what expecting a difference alone gives. Duplicates, warm-ups and gaps as in a rating.
 * Pure. Errors: RangeError for answers of another kind, or samples without a hidden control.
 * Sources: in the method notes of the document.
 */
export function analyseControl(input: PartInput<ControlPart>): ControlResult {
  const { part, number, trays, random } = input;
  const table = markTable(input);
  const { samples, warmUps, duplicates, comments } = table;
  const control = samples.find((sample) => sample.control);
  if (!control) throw new RangeError('a difference from control needs its hidden control');
  const served = servedFacts(trays);
  const marks = table.marks.get('') ?? [];
  const all = markFigures([{ about: 'degree of difference', marks }], {
    samples,
    scale: { lowest: 0, highest: part.degrees.length - 1, steps: true },
    alpha: part.alpha,
    blocks: dealtInBlocks(input),
    stands: 'the comparison of all cups',
    random: random('control'),
  });
  const [figures] = all;
  if (!figures) throw new RangeError('degrees of difference are one list of marks');
  const verdict = withinAssessors({
    rows: personMeans(marks, samples.length),
    against: samples.indexOf(control),
    random: random('control'),
  });
  const shown = verdict !== null && verdict.p <= part.alpha;
  const comparisons = comparisonsOf(marks, table, control.key, { part, shown });
  const found = { figures, samples, comparisons, verdict, control: control.key };
  return {
    part: number,
    kind: 'control',
    served,
    settings: {
      cups: part.cups,
      replicates: part.replicates,
      cupsEach: part.cupsEach,
      alpha: part.alpha,
      controlArmId: part.controlArmId,
      degrees: part.degrees,
    },
    samples,
    warmUps,
    duplicates,
    comments,
    control: control.key,
    figures,
    verdict: verdict && {
      marks: verdict.marks,
      ranks: verdict.ranks,
      p: verdict.p,
      route: verdict.route,
      permutations: verdict.permutations,
      assessors: verdict.assessors,
      leftOut: verdict.leftOut,
    },
    comparisons,
    finding: controlFinding(found, part, served.assessors),
    caveats: [
      ...markCaveats(input, { served, figures: all, warmUps, duplicates }),
      ...controlCaveats(figures, control.key),
    ],
    methods: [...controlMethods(comparisons, part), ...markMethods(all, part)],
  };
}

function comparisonsOf(
  marks: readonly AskedMark[],
  { samples }: MarkTable,
  control: string,
  { part, shown }: { part: ControlPart; shown: boolean },
): ControlResult['comparisons'] {
  const keys = samples.map(({ key }) => key);
  const ratings = marks.flatMap(({ assessor, place, value }) =>
    value === null ? [] : [{ assessor, sample: keys[place] ?? '', value }],
  );
  const rated = new Set(ratings.map(({ sample }) => sample));
  if (rated.size < 2 || !rated.has(control)) return null;
  const { comparisons, adjustment, reason } = compareWithControl({
    ratings,
    control,
    interaction: true,
    alpha: part.alpha,
  });
  if (reason !== null) return null;
  const byRanks = part.cupsEach === null ? ranksAgainst(marks, keys, control) : new Map<string, number>();
  return {
    adjustment,
    rows: comparisons
      .map((row) => ({
        sample: row.sample,
        difference: row.difference,
        lower: row.lower,
        upper: row.upper,
        standardError: row.standardError,
        df: row.df,
        t: row.t,
        p: row.p,
        adjusted: row.adjusted,
        pRanks: byRanks.get(row.sample) ?? null,
        differs: shown && row.significant,
      }))
      // As the plan names samples.
      .sort((a, b) => keys.indexOf(a.sample) - keys.indexOf(b.sample)),
  };
}

function controlCaveats(figures: ControlResult['figures'], control: string): Caveat[] {
  const mean = figures.samples.find(({ sample }) => sample === control)?.mean ?? null;
  if (mean === null) return [];
  return [
    plainCaveat(
      'design',
      mean === 0
        ? 'The hidden control held the same as the marked cup and got 0 from everybody; samples are compared with it all the same.'
        : `The hidden control held the same as the marked cup and still got ${plain(mean, 2)} on average: that is the noise of the table, and samples are compared with it, not with zero.`,
    ),
  ];
}

function controlMethods(comparisons: ControlResult['comparisons'], part: ControlPart): MethodNote[] {
  const verdict = verdictNote({
    explains:
      'Is the largest difference of a sample from the hidden control beyond chance? Each person’s means are put in all orders, or in random ones; p is the share of orders whose largest difference, by marks or by ranks, reaches the one seen.',
    inputs: `degrees scored 0 to ${part.degrees.length - 1}, alpha ${part.alpha}`,
  });
  if (!comparisons) return [{ ...verdict, id: 'control-verdict' }];
  const dunnett = comparisons.adjustment === 'dunnett';
  return [
    { ...verdict, id: 'control-verdict' },
    {
      id: 'control',
      name: dunnett
        ? 'Dunnett’s two-sided comparison with the hidden control'
        : 'Comparison with the hidden control, Holm on t tests',
      explains: dunnett
        ? 'Mean degree of each sample less that of the hidden control; p and intervals hold for all samples together.'
        : 'Mean degree of each sample less that of the hidden control in the mixed model; marks are missing or unequal in number, so that p are adjusted by Holm and intervals by Bonferroni, a little more careful.',
      source: dunnett ? 'Dunnett 1955; Dunnett 1964' : 'Holm 1979; Satterthwaite 1946',
      inputs: `${comparisons.rows.length} samples against the hidden control, degrees scored 0 to ${part.degrees.length - 1}, alpha ${part.alpha}`,
      assumption:
        'Steps between degrees count as equal; errors are normal with equal spread; only these comparisons were planned.',
    },
  ];
}
