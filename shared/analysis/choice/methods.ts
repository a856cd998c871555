import type { MethodNote } from '../../contracts/result-common.ts';
import type { DifferenceTest } from '../../kinds/kind.ts';
import { cupsOfChoice, differenceOf } from '../../kinds/kinds.ts';
import type { ChoiceFigures } from './result.ts';
import { inWords, plain } from '../../ground/phrases.ts';
import { exactUpTo } from '../../stats/equal-places.ts';

const INDEPENDENT =
  'Answers are independent, orders balanced, choices forced, and nothing but taste and smell tells the cups apart.';
const PAIR_SOURCE = 'ISO 5495; Roessler et al. 1978, Journal of Food Science 43:940';

/** How every number was made: method, published source, inputs, and what it takes for granted. */
export function choiceMethods(figures: ChoiceFigures): MethodNote[] {
  const kind = differenceOf(figures).test;
  const notes = [...testNotes(figures, kind), ...sizeNotes(figures, kind), powerNote(figures)];
  if (figures.posterior) notes.push(posteriorNote(figures, kind));
  notes.push(...confidenceNotes(figures), ...servingNotes(figures, kind));
  return notes;
}

function inputsOf({ test, outcome }: ChoiceFigures, { guessWords }: DifferenceTest): string {
  const counted = test.side === 'greater' ? 'right' : outcome.counted;
  return `${test.counted} ${counted} of ${test.answers}, guessing rate ${guessWords}`;
}

function testNotes(figures: ChoiceFigures, kind: DifferenceTest): MethodNote[] {
  const { test, similarity } = figures;
  const twoSided = test.side === 'two-sided';
  const notes: MethodNote[] = [
    {
      id: 'exact-p',
      name: `Exact binomial test, ${twoSided ? 'two-sided' : 'one-sided'}`,
      explains: twoSided
        ? 'How often guessing alone gives a split as uneven as this or more, whichever arm leads: twice the smaller tail, at most 1.'
        : 'How often guessing alone gives this many right answers or more.',
      source: twoSided ? PAIR_SOURCE : `${kind.source}; Roessler et al. 1978, Journal of Food Science 43:940`,
      inputs: inputsOf(figures, kind),
      assumption: INDEPENDENT,
    },
    {
      id: 'critical-number',
      name: 'Critical number',
      explains: twoSided
        ? 'The fewest answers for one arm, either of the two, whose exact two-sided p is at or below the alpha fixed beforehand.'
        : 'The fewest right answers whose exact p is at or below the alpha fixed beforehand.',
      source: `${kind.source}; computed exactly, not from the normal approximation`,
      inputs: `${test.answers} answers, alpha ${test.alpha}, guessing rate ${kind.guessWords}`,
      assumption: INDEPENDENT,
    },
  ];
  if (similarity) {
    notes.push({
      id: 'similarity',
      name: 'Exact test of similarity',
      explains:
        'How often this few or fewer would be right if the share of discriminators were at the limit fixed beforehand.' +
        (twoSided
          ? ' Without a direction the arm named more often is held against the limit: two one-sided tests, each at the risk fixed.'
          : ''),
      source: 'ISO 4120 and ISO 10399 (similarity); ASTM E1885',
      inputs: `${similarity.counted} of ${similarity.answers} people, limit ${similarity.meaningfulShare}, risk ${similarity.beta}`,
      assumption: `One answer per person. ${INDEPENDENT}`,
    });
  }
  return notes;
}

function sizeNotes(figures: ChoiceFigures, kind: DifferenceTest): MethodNote[] {
  const { test, share, stronger, dPrime, replicates } = figures;
  const notes: MethodNote[] = [];
  const inputs = inputsOf(figures, kind);
  const limits = {
    source: replicates
      ? 'Clopper & Pearson 1934 with effective number of answers: Korn & Graubard 1998, Survey Methodology 24:193'
      : 'Clopper & Pearson 1934, Biometrika 26:404',
    inputs: replicates?.effectiveAnswers
      ? `${inputs}, effective answers ${plain(replicates.effectiveAnswers, 2)}`
      : inputs,
    assumption: replicates ? 'Answers of one palate may be alike; people are independent.' : INDEPENDENT,
  };
  if (share) {
    const rate = kind.guessWords;
    notes.push({
      id: 'share',
      name: 'Share of discriminators',
      explains:
        `pd = (share right - ${rate}) / (1 - ${rate}), with the two-sided ${plain(share.level * 100)} % interval that pairs with a one-sided test at alpha ${test.alpha}. ` +
        'It is a figure of the guessing model for this test, not a count of people, and does not carry over to another kind of test.',
      ...limits,
    });
  }
  if (stronger?.share) {
    notes.push({
      id: 'share',
      name: 'Share of answers for one arm',
      explains: `Share of answers that named ${figures.outcome.counted}, with its two-sided exact ${plain(stronger.share.level * 100)} % interval, which pairs with the test.`,
      ...limits,
    });
  }
  if (dPrime) {
    const signed =
      test.side === 'two-sided'
        ? ` Its sign says which arm: above 0, more in ${figures.outcome.counted}.`
        : '';
    notes.push({
      id: 'd-prime',
      name: 'd-prime',
      explains: `Size of the difference in units of perceptual noise, comparable between test methods; limits carried over from the interval of the share.${signed}`,
      source: `${kind.percepts}; Bi, Ennis & O’Mahony 1997, Journal of Sensory Studies 12:87; ASTM E2262`,
      inputs: `${inputs}, psychometric function of the ${kind.name}`,
      assumption: `One dimension, equal normal noise, assessors alike, and the usual rule: ${kind.rule}.`,
    });
  }
  return notes;
}

function powerNote({ test, similarity, power }: ChoiceFigures): MethodNote {
  return {
    id: 'power',
    name: similarity ? 'Chance to show similarity' : 'Power for the difference planned',
    explains: similarity
      ? 'Chance that this many people support similarity if everybody guesses. Not computed from the result.'
      : 'Chance that this many answers show a difference of the size fixed beforehand. Not computed from the result.',
    source: 'Exact binomial; ISO 4120; ASTM E1885',
    inputs: similarity
      ? `${power.answers} people, limit ${power.meaningfulShare}, risk ${similarity.beta}`
      : `${power.answers} answers, share ${power.meaningfulShare}, alpha ${test.alpha}, ${test.side === 'greater' ? 'one-sided' : 'two-sided'}`,
    assumption: INDEPENDENT,
  };
}

function posteriorNote({ posterior }: ChoiceFigures, { guessWords }: DifferenceTest): MethodNote {
  return {
    id: 'posterior',
    name: 'Probability that the share matters',
    explains:
      'A reading beside the test, not in its place: with every share of discriminators alike likely beforehand, how likely it is after the answers that the share is larger than the one fixed beforehand. With few answers it depends mainly on that beginning.',
    source:
      'Gelman et al., Bayesian Data Analysis, section 2.4 (beta prior); exact mixture of beta distributions',
    inputs: `${posterior?.answers ?? 0} people, one answer each, guessing rate ${guessWords}, share ${posterior?.meaningfulShare ?? 0}, prior Beta(1, 1)`,
    assumption:
      'By the guessing model: an answer is known, or guessed; one answer per person. The share is a parameter of that model, no count of heads.',
  };
}

function confidenceNotes({ confidence, test }: ChoiceFigures): MethodNote[] {
  const what = test.side === 'greater' ? 'Right answers' : 'Answers';
  const notes: MethodNote[] = [
    {
      id: 'confidence',
      name: `${what} by confidence`,
      explains:
        'Share within each degree of confidence, with 95 % Wilson intervals. Descriptive; with few answers such an interval covers a few points less than it says.',
      source: 'Wilson 1927, Journal of the American Statistical Association 22:209',
      inputs: 'answers by confidence',
      assumption: 'Answers are independent within a row.',
    },
  ];
  if (confidence.rIndex) {
    notes.push({
      id: 'r-index',
      name: 'R-index of confidence',
      explains:
        'Chance that of one right answer and one that was not, the right one was given with more confidence, ties counted half: 50 % when confidence says nothing. Limits by the logit; p one-sided, from all ways to deal the answers.',
      source:
        'Brown 1974, British Journal of Psychology 65:13; Mann & Whitney 1947; DeLong, DeLong & Clarke-Pearson 1988, Biometrics 44:837',
      inputs: `${confidence.rIndex.rightAnswers} right and ${confidence.rIndex.otherAnswers} other answers, one per person, in three degrees of confidence`,
      assumption:
        'People are independent and use the degrees of confidence alike. Right by luck counts as right, which pulls it towards 50 %.',
    });
  }
  return notes;
}

function servingNotes({ positions, orders, settings }: ChoiceFigures, facts: DifferenceTest): MethodNote[] {
  const pairing = differenceOf(settings).picks(settings).most === 2;
  return [
    {
      id: 'positions',
      name: pairing ? 'Pairs by place' : 'Choices by place',
      explains: pairing
        ? `Whether some way to pair the ${inWords(cupsOfChoice(settings).asked)} places drew more choices than the others.`
        : 'Whether some place on the tray drew more choices than others.',
      source:
        positions.rows.length === 2
          ? 'Exact binomial test against one half, two-sided'
          : `Exact multinomial test of equal shares (chi-square for more than ${exactUpTo(positions.rows.length)} answers): Cochran 1952, Annals of Mathematical Statistics 23:315`,
      inputs: positions.rows.map(({ place, chosen }) => `${place} ${chosen}`).join(', '),
      assumption: 'Orders are balanced, so that each place is right equally often.',
    },
    {
      id: 'orders',
      name: 'Orders as served',
      explains: 'Answers per serving order; the analysis is by what was served, not by what was planned.',
      source: `${facts.source}: every order used equally often`,
      inputs: orders.rows.map(({ order, served }) => `${order} ${served}`).join(', '),
      assumption: 'Cups were poured and set as the plan says.',
    },
  ];
}
