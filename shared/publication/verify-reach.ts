// What the verifier (verify.ts) cannot work out again, and why: named here, on the page and in README.md of a package, and held
// by a test that changes every figure. All else that is a number is held against the others; texts are held by the sums alone.

export interface Unchecked {
  /** In plain words. */
  what: string;
  why: string;
  /** Paths below a part that are meant, lists as #. */
  fields: RegExp;
}

const FIT = 'It stands on a model fitted to the marks.';
const ORDERS =
  'It takes all orders of everybody’s answers, or random ones that are not kept; only the range and the count of orders are checked.';
const PEOPLE =
  'It takes the answers person by person, which are not told here, or not joined from cup to cup.';

export const NOT_CHECKED: readonly Unchecked[] = [
  {
    what: 'protocol.json, ro-crate-metadata.json and report.csv',
    why: 'They tell once more what result.json tells, in another order, and are held by sums and digest.',
    fields: /^(protocol|ro-crate-metadata|report)\b/,
  },
  {
    what: 'looks at the residuals of marks',
    why: FIT,
    fields: /(figures|attributes\.#)\.checks\./,
  },
  {
    what: 'p of pairs of ordered categories',
    why: `${FIT} Odds, limits and the p of all samples together are checked.`,
    fields: /\.link\.pairs\.#\.pTukey$/,
  },
  {
    what: 'figures of marks, and adjusted p of words, of panels below ten people, beyond means, counts and ranges',
    why: 'They are rounded each by itself.',
    fields: /^(rating|control|liking|description)\* /,
  },
  {
    what: 'p of permutation tests, exact ones of ranks included',
    why: ORDERS,
    fields:
      /^(ranking test\.(p|permutations|smallestP)|\S+ ((figures|attributes\.#)\.)?(verdict|ranks|profile)\.(p|permutations)|description (late\.)?words\.#\.test\.(p|permutations))$/,
  },
  {
    what: 'p adjusted for all samples against a control by Dunnett’s test',
    why: 'It takes a distribution of its own; only its range is checked.',
    fields: /^control comparisons\.rows\.#\.adjusted$/,
  },
  {
    what: 'ellipses of a map, the random panels behind them, and how often a word must be checked to stand on it',
    why: 'Random panels are not kept, and the rule is not told. Masses, inertias, axes and points are checked.',
    fields: /^description map\.(ellipses|resamples|threshold)/,
  },
  {
    what: 'words for two cups of one sample',
    why: 'Rows do not tell which of two cups was the first.',
    fields: /^description duplicates\./,
  },
  {
    what: 'words that go with liking, beyond numbers of answers and plain means',
    why: PEOPLE,
    fields: /^description liking\./,
  },
  {
    what: 'numbers who chose ‘none of these’, Cochran’s Q, and who tells samples apart by a word, where rows are not told or two cups were of one sample',
    why: PEOPLE,
    fields:
      /^description\S* (samples\.#\.none|(late\.)?(answers\.#\.none|words\.#\.test\.(q|informative)|words\.#\.shares\.#\.intensity\.(mean|of)|words\.#\.beside))/,
  },
  {
    what: 'statistics within people, mean ranks and their pairs, repeated marks, and marks at the ends of a line, where rows are not told or not joined',
    why: PEOPLE,
    fields: /\.(ranks\.(chiSquare|pairs|samples)|verdict\.(marks|ranks)|repeatability|ends)/,
  },
  {
    what: 'what repeated trays weigh, where the ways of answering are withheld',
    why: 'It takes how many trays each person was right on.',
    fields: /^\S+ replicates\.(designEffect|effectiveAnswers)$/,
  },
];

/** The list in one sentence each, as page and README.md give it. */
export const notChecked = (): string[] =>
  NOT_CHECKED.map(({ what, why }) => `${what[0]?.toUpperCase()}${what.slice(1)}. ${why}`);
