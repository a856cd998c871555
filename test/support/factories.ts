import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { TrialInput, TrialView } from '@oddglass/shared/contracts/trial.ts';

export const PASSPHRASE = 'four words in a row';

export function trialInput(change: Partial<TrialInput> = {}): TrialInput {
  return {
    title: 'Warm or cool',
    question: 'Does a warmer fermentation taste different?',
    factor: 'temperature',
    base: 'one wort, one yeast',
    arms: [
      {
        name: 'Coolvessel',
        differs: 'held at fourteen degrees',
        volumeMl: 9000,
        abv: 4.1,
        allergens: ['gluten'],
      },
      {
        name: 'Warmvessel',
        differs: 'held at twentytwo degrees',
        volumeMl: 8000,
        abv: 4.3,
        allergens: ['sulphites'],
      },
    ],
    ...change,
  };
}

export function settings(trial: TrialView, change: Partial<SessionSettings> = {}): SessionSettings {
  return {
    kind: 'triangle',
    title: 'Pale beer, day 21',
    armIds: trial.arms.slice(0, 2).map(({ id }) => id),
    assessors: 12,
    spareSeats: 2,
    replicates: 1,
    alpha: 0.05,
    aim: 'difference',
    meaningfulShare: 0.5,
    beta: 0.2,
    cupMl: 40,
    restSeconds: 0,
    masking: false,
    servingNote: '',
    ...change,
  };
}

/** For every tray, by id: the code of the odd cup. From the steward's key. */
export function oddCodes(pour: PourView): Map<string, string> {
  const cups = pour.samples.flatMap(({ id, cups: list }) => list.map((cup) => ({ ...cup, sample: id })));
  const trays = Map.groupBy(cups, ({ seat, replicate }) => `${seat}/${replicate}`);
  return new Map(
    [...trays].map(([tray, three]) => {
      const odd = three.find(({ sample }) => three.filter((other) => other.sample === sample).length === 1);
      return [tray, odd?.code ?? ''];
    }),
  );
}

let ballots = 0;
/** A well-formed ballot; ids count up so that a failing test can be read. */
export function ballotFor(
  tray: SeatView['trays'][number],
  odd: string,
  change: Record<string, unknown> = {},
) {
  ballots += 1;
  return {
    id: `00000000-0000-4000-8000-${String(ballots).padStart(12, '0')}`,
    trayId: tray.id,
    odd,
    confidence: 'fairly-sure',
    descriptors: ['banana'],
    comment: '',
    ...change,
  };
}
