import type { MethodNote, TriangleResult } from '../contracts/result.ts';
import { plain } from './words.ts';

type Figures = Omit<TriangleResult, 'finding' | 'caveats' | 'methods'>;

const INDEPENDENT =
  'Answers are independent, orders balanced, choices forced, and nothing but taste and smell tells the cups apart.';

/** How every number was made: method, published source, inputs, and what it takes for granted. */
export function triangleMethods(result: Figures): MethodNote[] {
  const { test, similarity, share, dPrime, power, replicates } = result;
  const inputs = `${test.correct} right of ${test.answers}, guessing rate 1/3`;
  const notes: MethodNote[] = [
    {
      id: 'exact-p',
      name: 'Exact binomial test, one-sided',
      explains: 'How often guessing alone gives this many right answers or more.',
      source: 'ISO 4120 (triangle test); Roessler et al. 1978, Journal of Food Science 43:940',
      inputs,
      assumption: INDEPENDENT,
    },
    {
      id: 'critical-number',
      name: 'Critical number',
      explains: 'The fewest right answers whose exact p is at or below the alpha fixed beforehand.',
      source: 'ISO 4120; computed exactly, not from the normal approximation',
      inputs: `${test.answers} answers, alpha ${test.alpha}, guessing rate 1/3`,
      assumption: INDEPENDENT,
    },
  ];
  if (similarity) {
    notes.push({
      id: 'similarity',
      name: 'Exact test of similarity',
      explains:
        'How often this few or fewer would be right if the share of discriminators were at the limit fixed beforehand.',
      source: 'ISO 4120 (similarity); ASTM E1885',
      inputs: `${similarity.correct} right of ${similarity.answers} people, limit ${similarity.meaningfulShare}, risk ${similarity.beta}`,
      assumption: `One answer per person. ${INDEPENDENT}`,
    });
  }
  if (share) {
    const level = `${plain(share.level * 100)} %`;
    notes.push({
      id: 'share',
      name: 'Share of discriminators',
      explains:
        `pd = (share right - 1/3) / (2/3), with the two-sided ${level} interval that pairs with a one-sided test at alpha ${test.alpha}. ` +
        'It is a figure of the guessing model for this test, not a count of people.',
      source: replicates
        ? 'Clopper & Pearson 1934 with effective number of answers: Korn & Graubard 1998, Survey Methodology 24:193'
        : 'Clopper & Pearson 1934, Biometrika 26:404; ISO 4120',
      inputs: replicates?.effectiveAnswers
        ? `${inputs}, effective answers ${plain(replicates.effectiveAnswers, 2)}`
        : inputs,
      assumption: replicates ? 'Answers of one palate may be alike; people are independent.' : INDEPENDENT,
    });
  }
  if (dPrime) {
    notes.push({
      id: 'd-prime',
      name: 'd-prime',
      explains:
        'Size of the difference in units of perceptual noise, comparable between test methods; limits carried over from the interval of the share right.',
      source: 'Ennis 1993, Journal of Sensory Studies 8:353; Bi, Ennis & O’Mahony 1997; ASTM E2262',
      inputs,
      assumption:
        'One dimension, equal normal noise, the usual decision rule of a triangle, assessors alike.',
    });
  }
  notes.push(
    {
      id: 'power',
      name: similarity ? 'Chance to show similarity' : 'Power for the difference planned',
      explains: similarity
        ? 'Chance that this many people support similarity if nobody can tell the arms apart. Not computed from the result.'
        : 'Chance that this many answers show a difference of the size fixed beforehand. Not computed from the result.',
      source: 'Exact binomial; ISO 4120; ASTM E1885',
      inputs: similarity
        ? `${power.answers} people, limit ${power.meaningfulShare}, risk ${similarity.beta}`
        : `${power.answers} answers, share ${power.meaningfulShare}, alpha ${test.alpha}`,
      assumption: INDEPENDENT,
    },
    {
      id: 'confidence',
      name: 'Right answers by confidence',
      explains:
        'Share right within each degree of confidence, with 95 % Wilson intervals. Descriptive; with few answers such an interval covers a few points less than it says.',
      source: 'Wilson 1927, Journal of the American Statistical Association 22:209',
      inputs: 'answers by confidence',
      assumption: 'Answers are independent within a row.',
    },
    {
      id: 'positions',
      name: 'Left, middle, right',
      explains: 'Whether some place on the tray drew more choices than others.',
      source: 'Exact multinomial test of equal shares (chi-square for more than 200 answers)',
      inputs: `chosen ${result.positions.chosen.join(', ')}`,
      assumption: 'The odd cup stood in each place equally often.',
    },
    {
      id: 'orders',
      name: 'Orders as served',
      explains: 'Answers per serving order; the analysis is by what was served, not by what was planned.',
      source: 'ISO 4120: six orders, used equally often',
      inputs: result.orders.rows.map(({ order, served }) => `${order} ${served}`).join(', '),
      assumption: 'Cups were poured and set as the plan says.',
    },
  );
  return notes;
}
