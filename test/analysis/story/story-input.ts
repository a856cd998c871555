import { analyseSession, type AnsweredTray, type SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import { storyMarks } from '@oddglass/shared/analysis/story/marks.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { StoryInput, StorySession } from '@oddglass/shared/contracts/story.ts';

export const COOL = '00000000-0000-4000-8000-00000000000a';
export const WARM = '00000000-0000-4000-8000-00000000000b';
const TRIAL = '00000000-0000-4000-8000-000000000001';

const triangle: Part = {
  kind: 'triangle',
  armIds: [COOL, WARM],
  replicates: 1,
  alpha: 0.05,
  aim: 'difference',
  meaningfulShare: 0.5,
  beta: 0.2,
};
const rating: Part = {
  kind: 'rating',
  cups: 'own',
  samples: [COOL, WARM].map((armId) => ({ armId, role: 'sample', spike: null })),
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
  attributes: ['sour', 'body'].map((name) => ({ id: name, name, low: 'none', high: 'strong' })),
  scale: 'line',
  by: 'sample',
  returning: false,
};

/** An evening of `people`, `right` of whom find the odd cup; Warm is marked `more` above Cool in sourness, body never. */
export function evening(
  number: number,
  { on, people, right, more }: { on: string; people: number; right: number; more: number },
): StorySession {
  const cup = (code: string, position: number, armId: string) => ({
    code,
    position,
    mark: null,
    sample: armId === COOL ? 's1' : 's2',
    armId,
  });
  const trays = Array.from({ length: people }, (_, at): AnsweredTray[] => {
    const assessor = `a${at + 1}`;
    const wobble = (by: number) => ((at * by + number * 3) % 11) - 5;
    return [
      {
        assessor,
        part: 1,
        replicate: 1,
        cups: [cup('101', 1, COOL), cup('102', 2, COOL), cup('103', 3, WARM)],
        ballots: [
          {
            part: 1,
            sheet: 1,
            answer: {
              kind: 'choice',
              chosen: [at < right ? '103' : '101'],
              confidence: 'fairly-sure',
              descriptors: [],
            },
            comment: '',
          },
        ],
      },
      {
        assessor,
        part: 2,
        replicate: 1,
        cups: [cup('201', 1, COOL), cup('202', 2, WARM)],
        ballots: ['201', '202'].map((code, place) => ({
          part: 2,
          sheet: place + 1,
          answer: {
            kind: 'rating' as const,
            marks: [
              { code, attributeId: 'sour', value: 40 + wobble(5 + place) + place * more },
              { code, attributeId: 'body', value: 50 + wobble(7 + 2 * place) },
            ],
          },
          comment: '',
        })),
      },
    ];
  }).flat();
  const sample = (armId: string, key: string, name: string, part: number) => ({
    key,
    armId,
    name,
    role: 'sample' as const,
    spike: null,
    control: false,
    part,
  });
  const input: SessionInput = {
    session: {
      title: `Evening ${number}`,
      trialTitle: 'Invented trial',
      question: 'Does the cellar matter?',
      factor: 'cellar',
      demo: true,
      arms: [
        { id: COOL, name: 'Cool', differs: 'cool' },
        { id: WARM, name: 'Warm', differs: 'warm' },
      ],
      blinding: 'double',
      smellOnly: false,
      stopped: false,
      fingerprint: '0000',
      root: String(number).repeat(64),
      revealedAt: `${on}T20:00:00.000Z`,
      assessors: people,
      cupMl: 40,
      restSeconds: 60,
    },
    settings: {
      title: `Evening ${number}`,
      assessors: people,
      spareSeats: 0,
      cupMl: 40,
      restSeconds: 60,
      masking: false,
      servingNote: '',
      parts: [triangle, rating],
    },
    samples: [1, 2].flatMap((part) => [sample(COOL, 's1', 'Cool', part), sample(WARM, 's2', 'Warm', part)]),
    trays,
    deviations: [],
    words: [],
  };
  return {
    id: `00000000-0000-4000-8000-0000000001${String(number).padStart(2, '0')}`,
    on,
    pullId: null,
    result: analyseSession(input),
    marks: storyMarks(input),
  };
}

/** An invented trial of two arms with nothing known of it yet. */
export function bareTrial(): StoryInput {
  const arm = { differs: 'cellar', volumeMl: 20_000, pitchedOn: '2026-03-01' };
  return {
    trial: {
      id: TRIAL,
      title: 'Invented trial',
      question: 'Does the cellar matter?',
      factor: 'cellar',
      demo: true,
    },
    arms: [
      { ...arm, id: COOL, name: 'Cool' },
      { ...arm, id: WARM, name: 'Warm' },
    ],
    pulls: [],
    readings: [],
    sessions: [],
    waiting: [],
    deviations: [],
    record: [],
  };
}
