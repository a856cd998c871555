import { analyseDescription } from '@oddglass/shared/analysis/description/description.ts';
import { descriptionFinding } from '@oddglass/shared/analysis/description/finding.ts';
import { expect, test } from 'vitest';
import { flightInput } from '../common/flight-input.ts';
import { panel, part, WORDS } from './description-input.ts';

// What a headline claims of single words, beside the test of all of them.

test('words beside a test of all of them that shows nothing are exploratory in the headline already', () => {
  const asked = part(2);
  const rows = Array.from({ length: 9 }, () => [['smoky'], ['sour']]);
  const {
    finding: _finding,
    caveats: _caveats,
    methods: _methods,
    ...figures
  } = analyseDescription(flightInput(asked, panel(asked, rows), { words: WORDS }));
  if (!figures.profile) throw new Error('all words together were tested');
  const shown = { ...figures, profile: { ...figures.profile, shown: true } };
  const notShown = { ...figures, profile: { ...figures.profile, shown: false, p: 0.085 } };
  expect(descriptionFinding(shown).headline).toBe('Smoky was checked more for Cool, sour more for Warm.');
  expect(descriptionFinding(notShown).headline).toBe(
    'Exploratory: smoky was checked more for Cool, sour more for Warm. All words together were not shown to differ.',
  );
});
