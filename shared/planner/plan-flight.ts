import type { ChoicePart, FlightPart, Part } from '../contracts/part.ts';
import { NotApartError } from '../design/flight.ts';
import { balancedSamples, checkPartApart, isFlightDesign } from '../design/plan-draw.ts';
import { controlArmOf, cupsOfChoice, flightOf } from '../kinds/kinds.ts';
import { isChoice } from '../contracts/part-fit.ts';
import { cupsIndex, replicatesOf } from '../rules/parts.ts';
import { dunnettCritical } from '../stats/dunnett.ts';
import { normalQuantile } from '../stats/normal.ts';
import { smallestWordP } from '../stats/descriptor/smallest-word-p.ts';
import { wilson } from '../stats/discrimination/proportion-interval.ts';
import { nemenyiQ } from '../stats/ranking/rank-sum-differences.ts';
import { studentQuantile } from '../stats/student-t.ts';
import { studentizedRangeCritical } from '../stats/studentized-range.ts';
import { draftDesign } from './plan-liquid.ts';
import type { PartReading, PlanFigure, PlannedSettings } from './plan-reading.ts';
import { percent, plain } from '../ground/phrases.ts';

type Said = Pick<PartReading, 'figures' | 'sayings' | 'warnings'>;

/** How the cups of a part bear on the comparison of two of its samples. */
export interface Precision {
  /** Samples that are compared, hidden duplicates counted with theirs. */
  samples: number;
  /** Cups besides warm-ups and marked ones, and how many of them each assessor gets on a tray. */
  cups: number;
  served: number;
  /** People who taste each cup of the plan, on average, and their evaluations of it. */
  people: number;
  evaluations: number;
  /** Trays on which two cups of the plan meet, on average. */
  together: number;
  /** Complete flights that would tell as much about two samples: variance of their difference = 2 s^2 / flights. */
  flights: number;
  /** Degrees of freedom left for the residual. */
  df: number;
}

/**
 * Precision of a part. Whole flights: one comparison for each flight. Incomplete blocks: the variance of a difference
 * within blocks is 2 s^2 / (r E) with E = lambda v / (r k), which is n (k - 1) / (v - 1) whole flights for n blocks of k of v
 * samples. Cups of a choice before: s^2 (1 / a + 1 / b) for a tray with a cups of one arm and b of the other.
 * Source: Yates 1936, Ann. Eugen. 7:121; Cochran & Cox 1957, Experimental Designs, section 11 (from memory).
 */
export function precisionOf(parts: readonly Part[], index: number, assessors: number): Precision {
  const own = parts[cupsIndex(parts, index)] as Part;
  if (isChoice(own)) return precisionOfChoice(own, assessors);
  const { design } = draftDesign(own, 1);
  const cups = isFlightDesign(design) ? balancedSamples(design) : [];
  const v = cups.length;
  const k = own.cupsEach !== null && own.cupsEach < v ? own.cupsEach : v;
  const trays = assessors * own.replicates;
  const samples = new Set(cups.map(({ sameAs }) => sameAs)).size;
  const whole = k === v;
  return {
    samples,
    cups: v,
    served: k,
    people: (assessors * k) / v,
    evaluations: (trays * k) / v,
    together: (trays * k * (k - 1)) / (v * (v - 1)),
    flights: (trays * (k - 1)) / (v - 1),
    df: whole ? (assessors - 1) * (samples - 1) : trays * (k - 1) - (v - 1),
  };
}

function precisionOfChoice(part: ChoicePart, assessors: number): Precision {
  const trays = assessors * replicatesOf(part);
  // The marked reference of a duo-trio is not asked about.
  const { a, b } = cupsOfChoice(part);
  return {
    samples: 2,
    cups: 2,
    served: 2,
    people: assessors,
    evaluations: (trays * (a + b)) / 2,
    together: trays,
    flights: (2 * trays) / (1 / a + 1 / b),
    df: trays - 1,
  };
}

const POWER = 0.8;

/**
 * Smallest difference of two means, in residual standard deviations, that is found with a chance of 80 %, or of `power`:
 * (c + t(power; df)) sqrt(2 / flights), c the critical t of the comparison: Tukey's for all pairs, Dunnett's against a
 * control. Null when there are too few answers. An approximation to the noncentral t, within 2 % of it (test/planner/planner.test.ts).
 * @param alpha between 0 and 1, as `power`.
 * Source: Cochran & Cox 1957, Experimental Designs, section 2.2 (from memory); Tukey 1953; Dunnett 1955.
 * Example: `smallestFound({ samples: 2, flights: 16, df: 15 }, { alpha: 0.05, control: false })` is 1.059845061
 */
export function smallestFound(
  { samples, flights, df }: Pick<Precision, 'samples' | 'flights' | 'df'>,
  { alpha, control, power = POWER }: { alpha: number; control: boolean; power?: number },
): number | null {
  if (df < 1 || samples < 2) return null;
  const critical = control
    ? dunnettCritical(alpha, Array<number>(samples - 1).fill(Math.SQRT1_2), df)
    : studentizedRangeCritical(alpha, samples, df) / Math.SQRT2;
  return (critical + studentQuantile(power, df)) * Math.sqrt(2 / flights);
}

/** What a part of rated, described, ranked or liked cups can and cannot tell. */
export function assessFlight({ parts, assessors }: PlannedSettings, part: FlightPart, index: number): Said {
  const precision = precisionOf(parts, index, assessors);
  const said: Said = {
    figures: figuresOfServing(part, precision),
    sayings: [],
    warnings: apartWarnings(part, index),
  };
  const { reads } = flightOf(part);
  switch (reads.as) {
    case 'means':
      sayDifference(said, part, reads.of, precision);
      break;
    case 'shares':
      sayShares(said, part, precision);
      break;
    case 'ranks':
      sayRanks(said, part, precision);
      break;
    default:
      reads satisfies never;
  }
  sayServing(said, parts, index, precision);
  return said;
}

function apartWarnings(part: FlightPart, index: number): string[] {
  if (part.cups === 'before') return [];
  try {
    checkPartApart(draftDesign(part, index + 1).design);
    return [];
  } catch (reason) {
    if (reason instanceof NotApartError) return [reason.message];
    throw reason;
  }
}

function figuresOfServing(
  part: FlightPart,
  { evaluations, together, cups, served }: Precision,
): PlanFigure[] {
  const average = served < cups ? ' on average' : '';
  return [
    {
      label: 'evaluations of each cup of the plan',
      value: plain(evaluations),
      note: `Expected assessors times flights${served < cups ? ', in incomplete blocks' : ''}, if everybody answers.`,
    },
    {
      label: 'times that two cups are compared by one assessor',
      value: plain(together),
      note:
        part.cups === 'before'
          ? 'On the trays of the part before.'
          : `Trays on which both stand${average}; orders balance place and carry-over (Williams 1949; Yates 1936).`,
    },
  ];
}

function sayDifference(said: Said, part: FlightPart, what: string, precision: Precision): void {
  const control = controlArmOf(part) !== null;
  const { alpha } = part;
  const smallest = smallestFound(precision, { alpha, control });
  const comparison = control ? 'each with the hidden control (Dunnett)' : 'all pairs (Tukey)';
  said.figures.push({
    label: 'smallest difference found 80 times in 100, in residual SD',
    value: smallest === null ? 'none' : plain(smallest, 2),
    note:
      `Alpha ${alpha} over ${comparison}; (critical t + t at 80 %) × √(2 / complete flights), Cochran & Cox 1957. ` +
      'The residual SD is how far answers scatter when a person tastes the same again, apart from using the scale high or low.',
  });
  if (smallest === null) {
    said.sayings.push('Too few answers: nothing is left to tell differences from scatter.');
    return;
  }
  const found = plain(smallest, 2);
  said.sayings.push(
    control
      ? `A sample whose ${what} lies ${found} residual SD above the hidden control is found 80 times in 100 (alpha ${alpha}).`
      : `Two samples that differ by ${found} residual SD in ${what} are told apart 80 times in 100 (alpha ${alpha} over all pairs).`,
    'Smaller differences are missed more often than that. No significant difference means: none was demonstrated with this panel.',
  );
  if (precision.flights > 0 && part.replicates > 1) {
    said.sayings.push(
      `This takes the ${part.replicates} flights of one person as independent. Where people do not see the samples alike, ` +
        'more people help and more flights do not.',
    );
  }
}

function sayShares(said: Said, part: FlightPart, { people, together, samples }: Precision): void {
  const n = Math.max(1, Math.floor(people));
  // Of several cups of a sample a person's first one counts, so that nobody tells two samples apart more than once.
  const tellers = Math.min(together, people);
  const { lower, upper } = wilson({ correct: Math.floor(n / 2), n, level: 0.95 });
  const discordant = Math.ceil(Math.log2(2 / part.alpha) - 1e-9);
  said.figures.push(
    {
      label: 'how well a share near one half is known',
      value: `${percent(lower)} to ${percent(upper)}`,
      note: `95 % interval of Wilson 1927 for ${Math.floor(n / 2)} of ${n}; with few answers it covers a few points less than that.`,
    },
    {
      label: 'fewest who must tell two samples apart by a word',
      value: discordant > tellers ? 'none' : `${discordant} of ${plain(tellers)}`,
      note: `All of them to the same side: exact test of McNemar, alpha ${part.alpha}, before adjusting for the number of words and pairs.`,
    },
  );
  said.sayings.push(
    discordant > tellers
      ? 'No word can tell two samples apart with this panel, whatever is checked: read the shares as a description.'
      : `At least ${discordant} assessors must check a word for one sample and not for the other, and nobody the other way round, before it ` +
          'can tell the two apart. With many words more are needed, since chance finds some.',
    'A word that was not checked was not selected; that is not the same as absent.',
  );
  sayAdjustment(said, part, { n, samples });
}

// Words of the built-in vocabulary are so many, and a panel may have added some.
const WHOLE_VOCABULARY = 190;

/** What the adjustment for the number of words costs, before it is too late to choose fewer. */
function sayAdjustment(said: Said, part: FlightPart, { n, samples }: { n: number; samples: number }): void {
  if (part.kind !== 'description' || samples < 2) return;
  const words = part.words?.length ?? WHOLE_VOCABULARY;
  const least = smallestWordP({ samples, people: n });
  // Single words have half of alpha, beside a late question a third, unless another of the part's tests holds already.
  const most = Math.floor(part.alpha / (part.late ? 3 : 2) / least);
  if (words > most) {
    said.warnings.push(
      `Adjusted for ${part.words === null ? 'some ' : ''}${words} words, no single word can be shown to differ by ${n} ${n === 1 ? 'person' : 'people'}, even if all check it alike: ` +
        (most >= 2
          ? `offer ${most} or fewer, or read the shares as a description.`
          : 'read the shares as a description.'),
    );
  } else if (words > MANY_WORDS) {
    said.warnings.push(
      `${part.words === null ? 'Some ' : ''}${words} words are many: each adds to what p is adjusted for. To compare samples offer 15 to 30, chosen for the drink and for what was varied; the whole list serves to find words.`,
    );
  }
}

const MANY_WORDS = 40;

function sayRanks(said: Said, part: FlightPart, precision: Precision): void {
  const { samples, served } = precision;
  const blocks = served < precision.cups;
  // Whole flights: everybody counts once, cups of one sample and repeated trays by the mean of their ranks.
  const [flights, ranked] = blocks ? [precision.flights, precision.cups] : [precision.people, samples];
  if (samples < 2 || Math.floor(flights) < 1) return;
  const { alpha } = part;
  const scale = Math.sqrt((flights * ranked * (ranked + 1)) / 6);
  const among = ranked > 2 ? nemenyiQ({ samples: ranked, alpha }) : -normalQuantile(alpha / 2);
  const needed = Math.ceil(among * scale - 1e-9);
  const most = flights * (ranked - 1);
  said.figures.push({
    label: 'smallest difference of rank sums that is significant',
    value: needed > most ? 'none' : `${needed} of at most ${plain(most)}`,
    note: `Nemenyi 1963, all pairs, alpha ${alpha}, normal approximation${blocks ? '; as if of that many complete flights' : ''}.`,
  });
  said.sayings.push(
    needed > most
      ? 'Even if everybody put two samples at the ends, no pair would be significant: this panel can show nothing between pairs.'
      : `The rank sums of two samples must lie at least ${needed} apart. If everybody put them at the two ends it would be ${plain(most)}.`,
    'Ranks tell the order and not how far apart samples are.',
  );
}

/** What the serving costs, and what of it cannot be balanced. */
function sayServing(said: Said, parts: readonly Part[], index: number, precision: Precision): void {
  const { cups, served, samples, flights } = precision;
  const own = parts[cupsIndex(parts, index)] as Part;
  if (isChoice(own)) {
    said.sayings.push(
      'It is asked on the cups of the test before, after the choice: people may know by then which cup they found odd.',
    );
    return;
  }
  if (served < cups) {
    const flown = plain((flights * (cups - 1)) / (served - 1));
    said.sayings.push(
      `Each assessor gets ${served} of ${cups} cups: two samples are compared as if by ${plain(flights)} of ${flown} complete flights ` +
        `(efficiency ${percent((cups * (served - 1)) / (served * (cups - 1)))} for each cup served).`,
    );
  }
  if (samples < cups) {
    said.sayings.push(
      'Hidden duplicates are never served side by side; they show how well each assessor repeats.',
    );
  }
}
