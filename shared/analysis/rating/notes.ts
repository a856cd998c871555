import type { ControlPart, LikingPart, RatingPart } from '../../contracts/part.ts';
import type { Caveat, MethodNote, ServedFacts } from '../../contracts/result-common.ts';
import type { MarkFigures } from '../../contracts/result-rating.ts';
import { KINDS } from '../../kinds/kinds.ts';
import { commonCaveats, plainCaveat } from '../common/caveats.ts';
import { dealtInBlocks, type PartInput } from '../common/served.ts';
import { listed } from '../../ground/phrases.ts';
import { routeInWords, verdictNote } from './verdict.ts';

type MarkPart = RatingPart | ControlPart | LikingPart;

interface CaveatFacts {
  served: ServedFacts;
  figures: readonly MarkFigures[];
  warmUps: readonly string[];
  duplicates: readonly string[];
}

/** What goes with marks of any kind: what every part shares, gaps, warm-ups, duplicates, blocks and null results. */
export function markCaveats(input: PartInput<MarkPart>, facts: CaveatFacts): Caveat[] {
  const { served, figures, warmUps, duplicates } = facts;
  const caveats = commonCaveats(input, served);
  const design = (text: string): void => void caveats.push(plainCaveat('design', text));
  if (served.answers === 0) return caveats;
  const declined = figures.reduce((sum, one) => sum + one.declined, 0);
  const unanswered = figures.reduce((sum, one) => sum + one.unanswered, 0);
  if (declined > 0) {
    const what = declined === 1 ? 'One mark was declined' : `${declined} marks were declined`;
    caveats.push(
      plainCaveat(
        'serving',
        `${what} with ‘I cannot say’. ${declined === 1 ? 'It counts' : 'They count'} as missing; a cup declined because of how it tastes would not be missing by chance.`,
      ),
    );
  }
  if (declined + unanswered > 0 && figures.some(({ test }) => test?.by === 'mixed')) {
    design(
      'Where marks are missing, tests compare each person’s marks that are there, and means come from a mixed model; both take marks to be missing for reasons that do not depend on the mark.',
    );
  }
  const leftOut = Math.max(0, ...figures.map(({ verdict }) => verdict?.leftOut ?? 0));
  if (leftOut > 0) {
    design(
      `${leftOut === 1 ? 'One person marked' : `${leftOut} people marked`} fewer than two samples of some list and ${leftOut === 1 ? 'is' : 'are'} in no test of it.`,
    );
  }
  if (dealtInBlocks(input)) {
    design(
      'Nobody had every sample: cups were dealt in incomplete blocks, and means allow for who tasted what.',
    );
  }
  if (duplicates.length > 0) {
    design(
      `Hidden duplicates count as further marks of their arm: each person’s mark of it is the mean of them, so that they do not count as further people: ${listed(duplicates)}.`,
    );
  }
  if (warmUps.length > 0) {
    caveats.push(plainCaveat('serving', `Warm-up, in no figure: ${listed(warmUps)}.`));
  }
  if (figures.some(({ verdict, shown }) => verdict !== null && !shown)) {
    design('Not significant means that this panel demonstrated no difference; a larger one may.');
  }
  if (likingBeside(input)) {
    design(LIKING_BESIDE);
  }
  return caveats;
}

/** Why liking and intensity are kept apart. */
export const LIKING_BESIDE =
  'Liking and intensity were asked in one session: looking for single attributes changes how well a cup is liked, and liking colours marks of intensity. Read neither as if the other had not been asked.';

/** Does this part ask how strong something is, in a session that asks for liking too? */
export function likingBeside({ kinds, part }: Pick<PartInput, 'kinds' | 'part'>): boolean {
  return kinds.includes('liking') && KINDS[part.kind].asksIntensity;
}

const MODEL_ASSUMES =
  'Steps of the scale mean the same everywhere; assessor effects and errors are normal with equal spread; assessors are a sample of those meant.';

/** How every number about marks was made: method, published source, inputs, and what it takes for granted. */
export function markMethods(figures: readonly MarkFigures[], part: MarkPart): MethodNote[] {
  const marks = figures.reduce((sum, { n }) => sum + n, 0);
  const inputs = `${marks} marks, alpha ${part.alpha}`;
  const tested = figures.flatMap(({ test }) => (test ? [test] : []));
  const routes = [...new Set(figures.flatMap(({ verdict }) => (verdict ? [routeInWords(verdict)] : [])))];
  return [
    ...(routes.length > 0
      ? [
          verdictNote({
            explains: `${part.kind === 'control' ? 'The comparison of all cups stands' : 'The finding stands'} on this test alone, which was fixed before any tasting: each person’s mean marks of the samples are put in other orders, and p is the share of orders in which the samples lie as far apart as they were found, by marks or by ranks, whichever is further (${listed(routes)}). It holds whatever the shape of the scale, floors, ties and differences between people.`,
            inputs,
          }),
        ]
      : []),
    meansNote(inputs),
    ...(tested.length > 0 ? [testNote(tested, inputs), ...pairNotes(inputs), checksNote(part, inputs)] : []),
    ...rankNotes(figures, part),
    ...linkNotes(figures, inputs),
    ...familyNotes(figures, part),
    positionsNote(inputs),
  ];
}

function meansNote(inputs: string): MethodNote {
  return {
    id: 'means',
    name: 'Estimated means with 95 % intervals',
    explains:
      'Mean of each sample in a mixed model by REML, assessors random, also assessor by sample where somebody marked a sample twice; t intervals with Satterthwaite degrees of freedom. Intervals hold the differences between people too, so that two of them may overlap although samples differ.',
    source: 'Patterson & Thompson 1971; Satterthwaite 1946',
    inputs,
    assumption: MODEL_ASSUMES,
  };
}

function testNote(tested: readonly NonNullable<MarkFigures['test']>[], inputs: string): MethodNote {
  const [full, mixed] = [tested.some(({ by }) => by === 'anova'), tested.some(({ by }) => by === 'mixed')];
  return {
    id: 'test',
    name: full && !mixed ? 'Two-way analysis of variance, assessors random' : 'F test of samples',
    explains: [
      ...(full
        ? [
            'Everybody marked every sample equally often: F is the mean square of samples over that of assessor by sample.',
          ]
        : []),
      ...(mixed
        ? [
            'Marks are missing or unequal in number: F comes from the mixed model, with Satterthwaite degrees of freedom.',
          ]
        : []),
      'Which of the two is taken depends on which cups have marks, never on the marks.',
    ].join(' '),
    source:
      'Naes, Brockhoff & Tomic 2010, Statistics for Sensory and Consumer Science; Satterthwaite 1946; Fai & Cornelius 1996',
    inputs,
    assumption: MODEL_ASSUMES,
  };
}

function pairNotes(inputs: string): MethodNote[] {
  return [
    {
      id: 'pairs',
      name: 'Pairs of samples by Tukey’s studentized range',
      explains:
        'All pairs of samples together at alpha, with the error of the F test; with unequal numbers the form of Kramer, or of the mixed model, which is approximate. Letters are given where a difference was shown, by means or by ranks as said there: samples with a common letter were not shown to differ.',
      source: 'Tukey 1953; Kramer 1956, Biometrics 12:307; letters: Piepho 2004 (from memory)',
      inputs,
      assumption: 'As for the test whose error it uses.',
    },
    {
      id: 'effect',
      name: 'Spread and size of effect',
      explains:
        'Standard deviations of assessors, assessor by sample and residual by REML; partial epsilon squared of a full table (the share of variation of samples, less what chance gives, below 0 when it gives more); marginal R squared; differences in standard deviations of a single mark.',
      source:
        'Carroll & Nordholm 1975 (from memory); Nakagawa & Schielzeth 2013, Methods in Ecology and Evolution 4:133; Westfall, Kenny & Judd 2014',
      inputs,
      assumption: MODEL_ASSUMES,
    },
  ];
}

function checksNote(part: MarkPart, inputs: string): MethodNote {
  return {
    id: 'checks',
    name: 'Residual checks, and by what pairs are told',
    explains: `Straightness of the normal plot (W’), equal spread across samples, residuals beyond 3 standard deviations; a check is flagged below p = 0.01. Where a difference was shown, pairs and letters are by means unless a check is flagged, a quarter of the marks stand at one end of the scale or marks leave no error variation; then by ranks. This rule is our own and was fixed before any tasting; it decides which pairs are named, never whether a difference is claimed.${part.kind === 'control' ? ' The comparison with the hidden control, which is the finding here, tells its samples by means in any case, with ranks beside it.' : ''}`,
    source:
      'Shapiro & Francia 1972; Royston 1993, Statistics in Medicine 12:181 (from memory); Brown & Forsythe 1974',
    inputs,
    assumption:
      'Residuals are those of the fitted model; they hang together a little, so that p-values are approximate.',
  };
}

function rankNotes(figures: readonly MarkFigures[], { alpha }: MarkPart): MethodNote[] {
  const ranked = figures.flatMap(({ ranks }) => (ranks ? [ranks] : []));
  const [first] = ranked;
  if (!first) return [];
  const routes = [
    ...new Set(
      ranked.map(({ route, permutations }) =>
        route === 'permutation'
          ? `${(permutations ?? 0).toLocaleString('en')} random orders within assessors`
          : route === 'exact'
            ? 'exact'
            : 'chi-square approximation',
      ),
    ),
  ];
  const friedman = first.by === 'friedman';
  return [
    {
      id: 'ranks',
      name: friedman ? 'Friedman test on means within people' : 'Durbin’s test for incomplete blocks',
      explains: `Each person’s means are turned into ranks, so that only order counts and not how the scale is used; pairs by ${friedman ? 'Nemenyi' : 'Holm'}. p: ${listed(routes)}. ${friedman ? 'Everybody marked every sample.' : 'Ranks are within the samples a person marked.'}`,
      source: friedman
        ? 'Friedman 1937, Journal of the American Statistical Association 32:675; Nemenyi 1963'
        : 'Durbin 1951, British Journal of Psychology 4:85; Conover 1999 (from memory)',
      inputs: `${first.assessors} people, alpha ${alpha}`,
      assumption:
        'Assessors are independent of each other; if samples do not differ, every order within one is equally likely.',
    },
  ];
}

function linkNotes(figures: readonly MarkFigures[], inputs: string): MethodNote[] {
  if (!figures.some(({ link }) => link !== null)) return [];
  return [
    {
      id: 'link',
      name: 'Cumulative logit with assessors random',
      explains:
        'A look beside the finding, fitted where residual checks are flagged or marks pile up at an end and nobody had a sample twice, up to 7,000 marks x samples x attributes. Takes the steps of the scale as ordered categories, not as equal distances; likelihood ratio test of samples, pairs as odds ratios with Tukey’s adjustment, each interval of its own.',
      source:
        'McCullagh 1980, Journal of the Royal Statistical Society B 42:109; Tierney & Kadane 1986 (Laplace)',
      inputs,
      assumption: 'A sample shifts all categories by the same log-odds; rough below about 30 marks.',
    },
  ];
}

function familyNotes(figures: readonly MarkFigures[], { alpha }: MarkPart): MethodNote[] {
  const notes: MethodNote[] = [];
  if (figures.length > 1) {
    notes.push({
      id: 'adjusted',
      name: 'Adjustment over attributes (Holm)',
      explains: `The risk alpha is that of all ${figures.length} attributes together, those without any spread included; the F tests, rank tests and models beside the finding are each adjusted in their own family; raw p stands beside.`,
      source: 'Holm 1979, Scandinavian Journal of Statistics 6:65',
      inputs: `${figures.length} attributes, alpha ${alpha}`,
      assumption: 'All attributes of the part are counted, shown or not.',
    });
  }
  if (figures.some(({ repeatability }) => repeatability !== null)) {
    notes.push({
      id: 'repeatability',
      name: 'Repeatability from cups of one sample',
      explains:
        'Standard deviation between marks of one person for one sample, pooled over people and samples: hidden duplicates and repeated trays.',
      source: 'ISO 5725-1 (repeatability standard deviation; from memory)',
      inputs: figures.map(({ repeatability }) => `${repeatability?.df ?? 0} degrees of freedom`).join(', '),
      assumption: 'Nobody knew that cups held the same.',
    });
  }
  return notes;
}

function positionsNote(inputs: string): MethodNote {
  return {
    id: 'positions',
    name: 'Marks by position in the flight',
    explains:
      'Mark less the mean of its sample, averaged by position; a position stands out beyond what chance gives once in 100 tastings over all positions together. A look at order, not a test of the samples.',
    source: 'common practice, no source',
    inputs,
    assumption: 'Orders are balanced over people.',
  };
}
