import type { RehearsalView } from '@oddglass/shared/contracts/rehearsal.ts';
import type { PartResult, ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SampleFacts } from '@oddglass/shared/contracts/result-common.ts';
import type { MarkFigures } from '@oddglass/shared/contracts/result-rating.ts';
import { kindOf } from '@oddglass/shared/kinds/kinds.ts';
import {
  expectedDifferent,
  expectedPreference,
  expectedShare,
  expectedStep,
} from '@oddglass/shared/simulation/put-in.ts';
import { decimals, percent } from '#lib/text/numbers.ts';

export interface PutInRow {
  name: string;
  /** What these people come to in the long run. */
  put: string;
  /** What came out this time. */
  found: string;
}

type Simulation = RehearsalView['simulation'];

/** What was put in beside what was found, part by part. */
export function putInRows(result: ResultDocument, simulation: Simulation): PutInRow[] {
  const several = result.parts.length > 1;
  const nameOf = (armId: string): string =>
    result.session.arms.find(({ id }) => id === armId)?.name ?? 'an arm';
  return result.parts.flatMap((part) =>
    rowsOf(part, simulation, nameOf).map((row) => ({
      ...row,
      name: several ? `Part ${part.part}, ${row.name}` : row.name,
    })),
  );
}

const share = (of: number, all: number): string =>
  all === 0 ? 'no answers' : `${of} of ${all}, ${percent(of / all)}`;

function rowsOf(part: PartResult, simulation: Simulation, nameOf: (armId: string) => string): PutInRow[] {
  const { plain } = kindOf(part).names;
  const d = decimals(simulation.dPrime, 1);
  switch (part.kind) {
    case 'preference': {
      const second = part.votes[1];
      const voted = part.votes.reduce((sum, { votes }) => sum + votes, 0);
      const name = second ? nameOf(second.armId) : '';
      const expected = percent(expectedPreference(simulation));
      return [
        {
          name: plain,
          put: `${expected} of those with a preference for ${name}`,
          found: share(second?.votes ?? 0, voted),
        },
      ];
    }
    case 'same-different': {
      const { hit, falseAlarm } = expectedDifferent(simulation);
      const { different, same } = part.pairs;
      return [
        {
          name: 'pairs that differ, called different',
          put: percent(hit),
          found: share(different.said ?? 0, different.answers),
        },
        {
          name: 'pairs that are alike, called different',
          put: percent(falseAlarm),
          found: share(same.said ?? 0, same.answers),
        },
        { name: 'distance (d′)', put: d, found: estimateOf(part.dPrime) },
      ];
    }
    case 'rating':
      return part.attributes.map((figures) => ({
        name: figures.name.toLowerCase(),
        put: `${decimals(expectedStep(part.settings.scale, figures.id, simulation), 1)} from one arm to the next`,
        found: stepsOf(figures, part.samples),
      }));
    case 'liking':
      return [
        {
          name: plain,
          put: `${decimals(expectedStep('liking', null, simulation), 1)} from one arm to the next`,
          found: stepsOf(part.figures, part.samples),
        },
      ];
    case 'control':
    case 'ranking':
    case 'description':
      return [
        { name: plain, put: `arms ${d} apart (d′), one after the other`, found: part.finding.headline },
      ];
    default: {
      const { counted, answers, side } = part.test;
      const expected = expectedShare(part.settings, simulation);
      // Without a direction the answers for the first arm are counted, and the second lies further.
      const turned = side === 'two-sided';
      return [
        {
          name: turned ? `answers for ${part.outcome.counted}` : 'right answers',
          put: percent(turned ? 1 - expected : expected),
          found: share(counted, answers),
        },
        {
          name: 'distance (d′)',
          put: decimals(turned ? -simulation.dPrime : simulation.dPrime, 1),
          found: estimateOf(part.dPrime),
        },
      ];
    }
  }
}

function estimateOf(
  dPrime: { estimate: number | null; level: number; lower: number | null; upper: number | null } | null,
): string {
  if (!dPrime) return 'could not be had';
  const { estimate, lower, upper, level } = dPrime;
  const ends = `${lower === null ? '−∞' : decimals(lower, 1)} to ${upper === null ? '∞' : decimals(upper, 1)}`;
  const value = estimate === null ? 'beyond what can be told' : decimals(estimate, 1);
  return `${value}, ${percent(level)} interval ${ends}`;
}

/** Differences between means of arms as the plan names them, one to the next. */
function stepsOf({ samples }: MarkFigures, facts: readonly SampleFacts[]): string {
  const plain = facts.filter(({ role, control }) => role === 'sample' && !control);
  const means = plain.map(({ key }) => samples.find(({ sample }) => sample === key)?.mean ?? null);
  const steps = means.slice(1).map((mean, at) => {
    const before = means[at] ?? null;
    return mean === null || before === null ? 'no marks' : decimals(mean - before, 1);
  });
  return steps.length === 0 ? 'no marks' : steps.join(', ');
}
