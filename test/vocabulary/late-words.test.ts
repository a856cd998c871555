import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { lateReasonOf, whyLate } from '@oddglass/shared/vocabulary/late-words.ts';
import { expect, test } from 'vitest';

const late = BUILT_IN.words.filter((word) => word.late);

test('every word marked is a word of the vocabulary, with what is known of it and where from', () => {
  expect(late.map(({ id }) => id).sort()).toEqual([
    'astringent',
    'bitter',
    'blood-iron',
    'burning',
    'hard-tannin',
    'harsh-bitter',
    'long-finish',
    'medicinal',
    'metallic',
    'mousy',
    'smoke',
    'sweetener',
    'warming',
  ]);
  for (const { id, late: reason } of late) {
    expect(reason).toEqual(lateReasonOf(id));
    expect(reason?.why).toMatch(/^[A-Z].*\.$/);
    expect(reason?.source).toMatch(/^common practice, no source$|\b(19|20)\d\d\b/);
  }
});

test('what shows half a minute later and on is marked, and nothing that only the nose or the eye knows', () => {
  const later = BUILT_IN.words.filter(({ perceived }) => perceived.includes('later'));
  expect(later.filter((word) => !word.late).map(({ id }) => id)).toEqual([]);
  expect(
    late.filter(({ perceived }) => !perceived.some((when) => ['palate', 'finish'].includes(when))),
  ).toEqual([]);
});

test('a word of the panel is worth it when the panel says that it shows late', () => {
  expect(whyLate({ perceived: ['nose'] })).toBeNull();
  expect(whyLate({ perceived: ['finish', 'later'] })).toMatchObject({ source: 'common practice, no source' });
  const mousy = BUILT_IN.words.find(({ id }) => id === 'mousy');
  expect(mousy && whyLate(mousy)?.source).toContain('Snowdon');
});
