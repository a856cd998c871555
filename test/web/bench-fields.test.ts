import { describe, expect, it } from 'vitest';
import { triangleSettings } from '@oddglass/shared/contracts/session.ts';
import { trialInput } from '@oddglass/shared/contracts/trial.ts';
import { readTrianglePlan } from '@oddglass/shared/analysis/triangle-plan.ts';
import { glanceOf } from '../../web/src/lib/session/plan-words.ts';
import { amount } from '../../web/src/lib/trial/amount.ts';
import { fieldNotes } from '../../web/src/lib/trial/field-notes.ts';

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
    const read = triangleSettings.safeParse({
      kind: 'triangle',
      title: 'Cider, day 90',
      armIds: ['6f1d9a52-7d0b-4c3e-9a57-2b1f0c8d4e11', '6f1d9a52-7d0b-4c3e-9a57-2b1f0c8d4e11'],
      assessors: null,
      spareSeats: -1,
      replicates: 1.5,
      alpha: 0,
      aim: 'difference',
      meaningfulShare: 1,
      beta: 0.2,
      cupMl: 2,
      restSeconds: 60,
      masking: false,
      servingNote: '',
    });
    expect(notesOf(read)).toEqual({
      '#/armIds': 'Choose two different arms.',
      '#/assessors': 'Give a number.',
      '#/spareSeats': 'This cannot be below zero.',
      '#/replicates': 'Give a whole number.',
      '#/alpha': 'Alpha lies above 0.',
      '#/meaningfulShare': 'Below 1.',
      '#/cupMl': 'At least 5 mL.',
    });
  });
});

describe('plan in one line', () => {
  const plan = {
    assessors: 12,
    spareSeats: 2,
    replicates: 1,
    alpha: 0.05,
    meaningfulShare: 0.5,
    beta: 0.2,
    cupMl: 40,
  };
  const arm = { name: 'An arm', abv: 4, volumeMl: 2000 };
  const arms = [
    { ...arm, id: 'a' },
    { ...arm, id: 'b' },
  ];
  const spaced = (line: string): string => line.replaceAll('\u00a0', ' ');

  it('names the smallest significant number of the published triangle tables', () => {
    // 8 of 12 at alpha 0.05: ISO 4120, minimum number of correct responses for a triangle test.
    const line = spaced(
      glanceOf(readTrianglePlan({ ...plan, aim: 'difference' }, arms), 'difference', plan.beta),
    );
    expect(line).toMatch(/^8 of 12 right needed · power \d+ % · \d+ assessors for 80 %$/);
  });

  it('says when a plan wants more than there is', () => {
    const short = arms.map((one) => ({ ...one, volumeMl: 100 }));
    const reading = readTrianglePlan({ ...plan, aim: 'similarity' }, short);
    expect(glanceOf(reading, 'similarity', plan.beta)).toMatch(/right at most · .* · not enough liquid$/);
  });

  it('writes amounts that mean the same whichever decimal mark the reader knows', () => {
    expect([9500, 1234567, 4.756, 0].map(amount)).toEqual(['9\u00a0500', '1\u00a0234\u00a0567', '4.76', '0']);
  });
});
