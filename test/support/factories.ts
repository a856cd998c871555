import type { ChoiceAnswer } from '@oddglass/shared/contracts/ballot.ts';
import type { TrianglePart } from '@oddglass/shared/contracts/part.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SafetyFacts } from '@oddglass/shared/contracts/safety.ts';
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

/** Somebody has looked, and nothing speaks against tasting, whatever the alcohol; measured on `day`, YYYY-MM-DD. */
export function fitFacts(day: string, change: Partial<SafetyFacts> = {}): SafetyFacts {
  return {
    mould: false,
    hopped: true,
    stoodWarm: false,
    gravityFalling: false,
    pitchedOn: null,
    ph: 3.8,
    phOn: day,
    meterCalibratedOn: day,
    ...change,
  };
}

/** The same noted for every arm of a trial at a moment, by whoever asks. */
export async function foundFit(
  ask: (method: string, path: string, body: unknown) => Promise<TrialView>,
  trial: TrialView,
  at = new Date().toISOString(),
): Promise<TrialView> {
  let view = trial;
  for (const { id } of trial.arms)
    view = await ask('POST', `/api/trials/${trial.id}/arms/${id}/safety`, fitFacts(at.slice(0, 10)));
  return view;
}

export function trianglePart(trial: TrialView, change: Partial<TrianglePart> = {}): TrianglePart {
  return {
    kind: 'triangle',
    armIds: trial.arms.slice(0, 2).map(({ id }) => id),
    replicates: 1,
    alpha: 0.05,
    aim: 'difference',
    meaningfulShare: 0.5,
    beta: 0.2,
    ...change,
  };
}

/** Settings of a triangle evening, or of the parts given. */
export function settings(trial: TrialView, change: Partial<SessionSettings> = {}): SessionSettings {
  return {
    title: 'Pale beer, day 21',
    assessors: 12,
    spareSeats: 2,
    cupMl: 40,
    restSeconds: 0,
    masking: false,
    servingNote: '',
    parts: [trianglePart(trial)],
    ...change,
  };
}

/** For every tray, by 'seat/number': the code of the odd cup. From the steward's key. */
export function oddCodes(pour: PourView): Map<string, string> {
  const cups = pour.samples.flatMap(({ id, cups: list }) => list.map((cup) => ({ ...cup, sample: id })));
  const trays = Map.groupBy(cups, ({ seat, trayNumber }) => `${seat}/${trayNumber}`);
  return new Map(
    [...trays].map(([tray, three]) => {
      const odd = three.find(({ sample }) => three.filter((other) => other.sample === sample).length === 1);
      return [tray, odd?.code ?? ''];
    }),
  );
}

let ballots = 0;
/** A fresh ballot id; they count up so that a failing test can be read. */
export function ballotId(): string {
  ballots += 1;
  return `00000000-0000-4000-8000-${String(ballots).padStart(12, '0')}`;
}

/** A well-formed ballot of a triangle. */
export function ballotFor(
  tray: Pick<SeatView['trays'][number], 'id'>,
  odd: string,
  change: Record<string, unknown> = {},
  choice: Partial<ChoiceAnswer> = {},
) {
  return {
    id: ballotId(),
    trayId: tray.id,
    part: 1,
    sheet: 1,
    answer: { kind: 'choice', chosen: [odd], confidence: 'fairly-sure', descriptors: ['banana'], ...choice },
    comment: '',
    ...change,
  };
}
