import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { trianglePart } from './factories.ts';
import type { Palate } from './simulated-panel.ts';

// Palates of a whole trial: what each arm is like is told here, by name, and how far people differ follows from their
// seats, so that a run is the same every time.

/** Fruit from 0 to 100, and liking from 1 to 9, of each arm of the trial. */
export type Truth = Record<string, { fruit: number; liking: number }>;

const named = (trial: TrialView, armId: string): string =>
  trial.arms.find(({ id }) => id === armId)?.name ?? '';
/** Between -1 and 1: how this person differs from the others over this arm. */
const own = (seat: number, name: string): number => (((seat * 7 + name.length * 5) % 11) - 5) / 5;

/** The first `finders` seats find the odd cup, the others name another; marks follow the truth. */
export function palateOf(trial: TrialView, truth: Truth, finders: number): Palate {
  return ({ seat, part, cups, tray }) => {
    if (part.kind === 'triangle') {
      const odd = tray.find(({ armId }) => tray.filter((cup) => cup.armId === armId).length === 1)!;
      const other = tray.find(({ armId }) => armId !== odd.armId)!;
      const chosen = [(seat <= finders ? odd : other).code];
      return { kind: 'choice', chosen, confidence: 'fairly-sure', descriptors: [] };
    }
    const [cup] = cups;
    const name = named(trial, cup!.armId);
    if (part.kind === 'liking')
      return { kind: 'liking', value: Math.round(truth[name]!.liking + 1.4 * own(seat, name)) };
    return {
      kind: 'rating',
      marks: cups.map(({ code, armId }) => ({
        code,
        attributeId: 'fruit',
        value: truth[named(trial, armId)]!.fruit + Math.round(12 * own(seat, named(trial, armId))),
      })),
    };
  };
}

/** A triangle between the first and the last arm. */
export const difference = (trial: TrialView): Part[] => [
  trianglePart(trial, { armIds: [trial.arms[0]!.id, trial.arms.at(-1)!.id] }),
];

const flight = (trial: TrialView) => ({
  cups: 'own' as const,
  samples: trial.arms.map(({ id }) => ({ armId: id, role: 'sample' as const, spike: null })),
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
});

export const fruitOf = (trial: TrialView): Part[] => [
  {
    kind: 'rating',
    ...flight(trial),
    attributes: [{ id: 'fruit', name: 'fruit', low: 'none', high: 'strong' }],
    scale: 'line',
    by: 'sample',
    returning: false,
  },
];

export const likingOf = (trial: TrialView): Part[] => [{ kind: 'liking', ...flight(trial) }];
