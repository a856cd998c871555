import type { SameDifferentPart } from '../contracts/part.ts';
import { inWords, listed, percent } from '../ground/phrases.ts';
import { DIFFERENCES } from '../kinds/kinds.ts';
import { criticalNumber } from '../stats/discrimination/critical-number.ts';
import { powerOfTrays } from '../stats/discrimination/power-of-trays.ts';
import {
  fewestHits,
  powerOfSameDifferent,
  smallestForSameDifferent,
  type TraysOfPairs,
} from '../stats/discrimination/same-different-power.ts';
import { shareOfDPrime } from './compare-tests.ts';
import type { PartReading, PlanFigure } from './plan-reading.ts';

type Said = Pick<PartReading, 'figures' | 'difference' | 'sayings' | 'warnings'>;

// Criteria that people may bring along: 'different' of one pair alike in ten, and of one in two. Our own; no source.
const CAUTIOUS = 0.1;
const DARING = 0.5;
/** Tests that ask the same with more cups, to say what two cups cost. */
const BESIDE = ['triangle', 'tetrad'] as const;

/**
 * What a same-different test can and cannot tell: exact power by the criterion that is right most often, and by others, since a plan
 * cannot know people's own; beside it that of tests with more cups. Source: as powerOfSameDifferent.
 */
export function assessSameDifferent(assessors: number, part: SameDifferentPart): Said {
  const { alpha, beta, dPrime } = part;
  const trays = part.replicates as TraysOfPairs;
  const plan = { assessors, trays, alpha, dPrime };
  const { power, rates } = powerOfSameDifferent(plan);
  const others = [CAUTIOUS, DARING].map(
    (falseAlarmRate) => powerOfSameDifferent({ ...plan, falseAlarmRate }).power,
  );
  const smallest = smallestForSameDifferent({ trays, alpha, beta, dPrime });
  const goal = percent(1 - beta);
  const figures: PlanFigure[] = [
    {
      label: 'chance to find what matters (power)',
      value: percent(power),
      note: `Exact, for d′ ${dPrime}, by the criterion that names most pairs right: different are then called ${percent(rates.hit)} of the pairs that differ and ${percent(rates.falseAlarm)} of those that do not (differencing model: Kaplan, Macmillan & Creelman 1978, from memory).`,
    },
    {
      label: `assessors that reach ${goal}`,
      value: smallest ? smallest.first.toLocaleString('en') : 'none',
      note: smallest
        ? `${smallest.stable.toLocaleString('en')} from which on every larger panel does too: power does not rise steadily with people.`
        : 'No panel of up to 400 does.',
    },
  ];
  return {
    figures,
    difference: null,
    sayings: [
      neededWords(assessors, part),
      `If the arms are d′ ${dPrime} apart, the panel finds it with a chance of ${percent(power)}. People choose for themselves when to say ‘different’: if they say it of only one in ten pairs that do not differ it is ${percent(others[0] ?? 0)}, of one in two ${percent(others[1] ?? 0)}.`,
      costWords(assessors, part, power),
      ...(trays === 4
        ? [
            'With four trays the chance is the lower of two: both twos of a palate independent, or both alike.',
          ]
        : []),
      'No difference demonstrated does not mean that there is none: people who seldom say ‘different’ find little. Likeness cannot be shown by this test.',
    ],
    warnings: [
      ...(trays === 1 && assessors % 2 === 1
        ? [
            'With one tray each an even number of people gives as many pairs that differ as pairs that do not.',
          ]
        : []),
      ...(power < 1 - beta
        ? [
            `The chance of ${percent(power)} is below the ${goal} you ask for. ${
              smallest
                ? `${smallest.first} assessors would reach it, ${smallest.stable} with every larger panel too.`
                : 'No panel of up to 400 would reach it: look for a larger difference, or accept more risk.'
            }`,
          ]
        : []),
    ],
  };
}

/** What would show a difference, by an example, since hits and false alarms count together. */
function neededWords(assessors: number, { replicates, alpha }: SameDifferentPart): string {
  if (replicates === 1) {
    const [different, same] = [Math.floor(assessors / 2), Math.ceil(assessors / 2)];
    const fewest = fewestHits(different, same, different, alpha);
    const test = `One tray each: Fisher’s exact test between those whose cups differ and those whose do not (alpha ${alpha}).`;
    return fewest === null
      ? `${test} So few people can show nothing.`
      : `${test} If ${inWords(different)} of ${inWords(assessors)} say ‘different’, ${inWords(fewest)} of them have to have had cups that differ.`;
  }
  const twos = (assessors * replicates) / 2;
  const half = Math.ceil(twos / 2);
  const critical = criticalNumber({ n: half, alpha, guessRate: 1 / 2 });
  const test = `Of every two trays of a palate one has cups that differ: McNemar’s exact test within palates, which neither criteria nor repeated trays inflate (alpha ${alpha}).`;
  return critical === null
    ? `${test} With ${inWords(twos)} twos it shows something only where nearly all are answered unlike, and right.`
    : `${test} If ${inWords(half)} of ${inWords(twos)} twos are answered unlike, ${inWords(critical)} of them have to name the pair that differs.`;
}

/** What two cups a tray cost in power, in plain words: the same people, the same difference, more cups. */
function costWords(
  assessors: number,
  { alpha, dPrime, replicates }: SameDifferentPart,
  power: number,
): string {
  const others = BESIDE.map((kind) => {
    const { names, test } = DIFFERENCES[kind];
    const pd = shareOfDPrime(kind, dPrime);
    const found = powerOfTrays({ assessors, trays: 1, alpha, pd, guessRate: test.guessRate }).power;
    return { name: names.plain, found };
  });
  const told = others.map(({ name, found }) => `with one ${name} each ${percent(found)}`);
  const best = Math.max(...others.map(({ found }) => found));
  const beside = `The same people find the same difference ${listed(told)} of the time; by this test, with ${inWords(2 * replicates)} cups each, ${percent(power)}.`;
  return best > power
    ? `${beside} That is what two cups a tray cost: take it where three or four at a time would spoil each other.`
    : beside;
}
