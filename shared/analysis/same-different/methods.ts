import type { MethodNote } from '../../contracts/result-common.ts';
import type { SameDifferentFigures } from './result.ts';

const MODEL =
  'Percepts vary normally with equal spread, a pair is called different when its percepts lie far enough apart, and the panel shares one criterion.';
const told = (count: number | null): string => (count === null ? 'withheld' : String(count));

/** How every number was made: method, published source, inputs, and what it takes for granted. */
export function sameDifferentMethods(figures: SameDifferentFigures): MethodNote[] {
  const { pairs, test, dPrime, power, settings } = figures;
  const inputs = `${told(pairs.different.said)} of ${pairs.different.answers} pairs that differ and ${told(pairs.same.said)} of ${pairs.same.answers} that do not were called different`;
  const notes: MethodNote[] = [testNote(figures, inputs)];
  if (dPrime) {
    notes.push({
      id: 'd-prime',
      name: 'd-prime',
      explains:
        'Size of the difference in units of perceptual noise, worked out together with the criterion, so that a cautious and a daring panel get the same size; limits by the profile likelihood, at the level that pairs with the one-sided test. Nobody names an arm, so it has no direction.',
      source:
        'Differencing model: Kaplan, Macmillan & Creelman 1978, Behavior Research Methods & Instrumentation 10:796 (from memory); profile likelihood: Pawitan 2001, In All Likelihood, section 3.4 (from memory). ISO 5495 does not apply.',
      inputs: dPrime.weight < 1 ? `${inputs}; in limits an answer counts ${dPrime.weight}` : inputs,
      assumption: MODEL,
    });
  }
  notes.push(
    {
      id: 'power',
      name: 'Power for the difference planned',
      explains:
        'Chance that so many people show a difference of the size fixed beforehand, by the criterion that names most pairs right. Not computed from the result.',
      source: 'Exact sums over the test and the differencing model',
      inputs: `${power.assessors} people with ${settings.replicates} ${settings.replicates === 1 ? 'tray' : 'trays'} each, d-prime ${power.dPrime}, alpha ${test.alpha}, one-sided`,
      assumption: MODEL,
    },
    {
      id: 'confidence',
      name: 'Right answers by confidence',
      explains:
        'Share within each degree of confidence, with 95 % Wilson intervals. Descriptive; with few answers such an interval covers a few points less than it says.',
      source: 'Wilson 1927, Journal of the American Statistical Association 22:209',
      inputs: 'answers by confidence',
      assumption: 'Answers are independent within a row.',
    },
  );
  notes.push({
    id: 'orders',
    name: 'Orders as served',
    explains: 'Answers per serving order; the analysis is by what was served, not by what was planned.',
    source: 'Both pairs of one arm and both orders of one of each, equally often (by counting)',
    inputs: figures.orders.rows.map(({ order, served }) => `${order} ${served}`).join(', '),
    assumption: 'Cups were poured and set as the plan says.',
  });
  return notes;
}

function testNote({ test }: SameDifferentFigures, inputs: string): MethodNote {
  if (test.method === 'fisher') {
    return {
      id: 'exact-p',
      name: "Fisher's exact test, one-sided",
      explains:
        'How often chance alone, dealing the pairs to the same people with the same answers, has ‘different’ said so much more often of pairs that differ. As ‘different’ is said as often as it was said, the criterion does not weigh in.',
      source: 'Fisher 1935, The Design of Experiments (from memory)',
      inputs,
      assumption: 'One answer per person; who got which pair was drawn by lot.',
    };
  }
  return {
    id: 'exact-p',
    name: "McNemar's exact test within people, one-sided",
    explains:
      'Of two trays of one person one had cups that differ, and which was drawn by lot. Who gave both the same answer says nothing; of the others as many name the right one as the wrong one by chance. So neither people’s criteria nor trays of the same people inflate what chance does.',
    source: 'McNemar 1947, Psychometrika 12:153',
    inputs: `${test.unlike ? `${test.unlike.named} of ${test.unlike.twos} twos with unlike answers called the pair that differs different` : 'withheld'}; ${inputs}`,
    assumption: 'Which of the two trays had cups that differ was drawn by lot.',
  };
}
