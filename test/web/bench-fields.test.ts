import { describe, expect, it } from 'vitest';
import { sessionSettings, type SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { trialInput } from '@oddglass/shared/contracts/trial.ts';
import { assessPlan } from '@oddglass/shared/planner/planner.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import { glanceOf } from '../../web/src/lib/session/plan-form/plan-words.ts';
import { amount } from '../../web/src/lib/trial/amount.ts';
import { fieldNotes } from '../../web/src/lib/ui/field-notes.ts';

const uuid = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, '0')}`;
const triangle = {
  kind: 'triangle',
  armIds: [uuid(1), uuid(2)],
  replicates: 1,
  alpha: 0.05,
  aim: 'difference',
  meaningfulShare: 0.5,
  beta: 0.2,
} satisfies Part;
const ranking = {
  kind: 'ranking',
  cups: 'own',
  samples: [1, 2].map((n) => ({ armId: uuid(n), role: 'sample', spike: null })),
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
  attribute: 'sour',
} satisfies Part;
const notesOf = (read: { success: boolean; error?: Parameters<typeof fieldNotes>[0] | undefined }) =>
  read.error ? fieldNotes(read.error) : {};

describe('notes at fields', () => {
  it('point to the arm and field as the server does, in words for people', () => {
    const arm = { name: 'Oak', differs: 'cask', volumeMl: null, abv: 120, allergens: [] };
    const read = trialInput.safeParse({
      title: '',
      question: 'Does oak show?',
      factor: 'vessel',
      arms: [
        { ...arm, volumeMl: 1500, abv: null },
        { ...arm, name: '' },
      ],
    });
    expect(notesOf(read)).toEqual({
      '#/title': 'Fill this in.',
      '#/arms/1/name': 'Fill this in.',
      '#/arms/1/volumeMl': 'Give the volume in millilitres.',
      '#/arms/1/abv': 'Alcohol cannot be above 100 %.',
    });
  });

  it('say of empty, broken and negative numbers what to do, and never what a type is', () => {
    const same = uuid(1);
    const read = sessionSettings.safeParse({
      title: 'Cider, day 90',
      assessors: null,
      spareSeats: -1,
      cupMl: 2,
      restSeconds: 60,
      masking: false,
      servingNote: '',
      parts: [
        { ...triangle, armIds: [same, same], replicates: 1.5, alpha: 0, meaningfulShare: 1 },
        { ...ranking, samples: [{ armId: '', role: 'spiked', spike: null }] },
      ],
    });
    expect(notesOf(read)).toEqual({
      '#/assessors': 'Give a number.',
      '#/spareSeats': 'This cannot be below zero.',
      '#/cupMl': 'At least 5 mL.',
      '#/parts/0/armIds': 'Choose two different arms.',
      '#/parts/0/replicates': 'Give a whole number.',
      '#/parts/0/alpha': 'Alpha lies above 0.',
      '#/parts/0/meaningfulShare': 'Below 1.',
      '#/parts/1/samples/0/armId': 'Choose one.',
      '#/parts/1/samples/0/spike': 'Say what was added to a spiked sample, and to no other.',
    });
  });
});

describe('plan in one line', () => {
  const common = {
    assessors: 12,
    spareSeats: 2,
    cupMl: 40,
    restSeconds: 60,
    masking: false,
    servingNote: '',
  };
  const planOf = (...parts: Part[]): Omit<SessionSettings, 'title'> => ({ ...common, parts });
  const arms = [1, 2].map((n) => ({ id: uuid(n), name: `Arm ${n}`, abv: 4, volumeMl: 3000 }));
  const typed = { aim: 'difference', alpha: 0.05, beta: 0.2, strongerArm: '' } as const;
  const spaced = (line: string): string => line.replaceAll('\u00a0', ' ');

  it('names the smallest significant number of the published triangle tables', () => {
    // 8 of 12 at alpha 0.05: ISO 4120, minimum number of correct responses for a triangle test.
    const line = spaced(glanceOf(assessPlan(planOf(triangle), arms), [typed]));
    expect(line).toMatch(/^8 of 12 right needed · power \d+ % · \d+ assessors for 80 %$/);
  });

  it('does not call an answer right where no direction was written down', () => {
    const pair = { ...triangle, kind: 'directional-pair', attribute: 'sour', strongerArmId: null } as const;
    // 10 of 12, two-sided at alpha 0.05: ISO 5495, minimum number of agreeing judgements for a paired test.
    expect(glanceOf(assessPlan(planOf(pair), arms), [typed])).toMatch(/^10 of 12 for one arm needed · /);
  });

  it('names every part where there are several', () => {
    const line = spaced(glanceOf(assessPlan(planOf(triangle, ranking), arms), [typed, typed]));
    expect(line).toMatch(/^triangle: 8 of 12 right needed, power \d+ % · ranking: 2 cups each$/);
  });

  it('says when a plan wants more than there is', () => {
    const short = arms.map((one) => ({ ...one, volumeMl: 100 }));
    const reading = assessPlan(planOf({ ...triangle, aim: 'similarity' }), short);
    expect(glanceOf(reading, [{ ...typed, aim: 'similarity' }])).toMatch(
      /right at most · .* for 95\u00a0% · not enough liquid$/,
    );
  });

  it('writes amounts that mean the same whichever decimal mark the reader knows', () => {
    expect([9500, 1234567, 4.756, 0].map(amount)).toEqual(['9\u00a0500', '1\u00a0234\u00a0567', '4.76', '0']);
  });
});
