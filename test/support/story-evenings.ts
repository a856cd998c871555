import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { trianglePart } from './factories.ts';
import type { Palate } from './simulated-panel.ts';

/** The first `right` seats find the odd cup, the others name another; marks follow the arm and shift with `later`. */
export const palate =
  (right: number, later: number): Palate =>
  ({ seat, part, cups, tray }) => {
    if (part.kind === 'triangle') {
      const odd = tray.find(({ armId }) => tray.filter((cup) => cup.armId === armId).length === 1)!;
      const other = tray.find(({ armId }) => armId !== odd.armId)!;
      const chosen = [(seat <= right ? odd : other).code];
      return { kind: 'choice', chosen, confidence: 'fairly-sure', descriptors: [] };
    }
    return {
      kind: 'rating',
      marks: cups.map(({ code, armId }) => ({
        code,
        attributeId: 'sour',
        value:
          40 +
          ((seat * 7) % 11) +
          ((seat * (armId === tray[0]?.armId ? 3 : 5)) % 7) +
          (armId === (part as { samples: { armId: string }[] }).samples[0]?.armId ? later : 0),
      })),
    };
  };

/** A triangle, and sourness of both arms. */
export function storyParts(trial: TrialView): Part[] {
  const rating: Part = {
    kind: 'rating',
    cups: 'own',
    samples: trial.arms.map(({ id }) => ({ armId: id, role: 'sample', spike: null })),
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
    attributes: [{ id: 'sour', name: 'sour', low: 'none', high: 'strong' }],
    scale: 'line',
    by: 'sample',
    returning: false,
  };
  return [trianglePart(trial), rating];
}
