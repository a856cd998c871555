import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { allergen } from '@oddglass/shared/contracts/common.ts';
import { describe, expect, it } from 'vitest';
import {
  AMINES,
  AMINES_SOURCE,
  PALATE_FOOD,
  SPITTING,
  SPITTING_SOURCE,
  WHY_NOT_4_6,
  WHY_NOT_4_6_SOURCE,
  WITHOUT_ALCOHOL,
} from '../../web/src/lib/text/caution-words.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const pages = new Map(
  readdirSync(join(root, 'web/src'), { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('.svelte'))
    .map((file) => [file, readFileSync(join(root, 'web/src', file), 'utf8')]),
);
const textOf = (file: string): string => pages.get(file) ?? '';

describe('what is said of safety', () => {
  it('draws three lines for what holds no alcohol, and says why 4.6 is not enough', () => {
    expect(WITHOUT_ALCOHOL).toMatch(
      /only what is below pH 4\.0.*4\.0 to 4\.6 smell only.*above 4\.6.*mould, not at all/,
    );
    expect(WHY_NOT_4_6).toMatch(/botulinum only.*4\.3 .*grew.*4\.0 they did not/);
    expect(WHY_NOT_4_6_SOURCE).toContain('74:1670');
  });

  it('leaves swallowing free and asks for one way of it', () => {
    expect(SPITTING).toMatch(/Swallow or spit, as you like.*alike for every cup/);
    expect(SPITTING_SOURCE).toContain('e12277');
  });

  it('names MAO inhibitors and histamine, with the source', () => {
    expect(AMINES).toMatch(/MAO inhibitors or histamine intolerance/);
    expect(AMINES_SOURCE).toContain('44:3159');
  });

  it('names allergens of bread and crackers, and what does without', () => {
    for (const name of ['gluten', 'sesame', 'milk']) {
      expect(allergen.options).toContain(name);
      expect(PALATE_FOOD).toContain(name);
    }
    expect(PALATE_FOOD).toMatch(/plain boiled rice does as well, and water is enough\.$/);
  });

  it.each([
    [
      'lib/seat/door/CautionList.svelte',
      ['AMINES', 'AMINES_SOURCE', 'PALATE_FOOD', 'SPITTING', 'SPITTING_SOURCE'],
    ],
    ['lib/seat/rest/Rest.svelte', ['PALATE_FOOD']],
    [
      'lib/trial/TrialCautions.svelte',
      ['WITHOUT_ALCOHOL', 'WHY_NOT_4_6', 'WHY_NOT_4_6_SOURCE', 'AMINES', 'AMINES_SOURCE'],
    ],
    [
      'lib/publication/PublishedArticle.svelte',
      ['WITHOUT_ALCOHOL', 'WHY_NOT_4_6', 'WHY_NOT_4_6_SOURCE', 'AMINES', 'AMINES_SOURCE'],
    ],
    ['lib/session/plan-form/PlanReading.svelte', ['AMINES', 'PALATE_FOOD']],
  ])('stands on %s', (file, names) => {
    const markup = textOf(file).replace(/<script[\s\S]*?<\/script>/, '');
    for (const name of names) expect(markup, name).toMatch(new RegExp(`\\{[^}]*\\b${name}\\b[^}]*\\}`));
  });

  it('is said otherwise by no page', () => {
    expect(pages.size).toBeGreaterThan(100);
    for (const [file, text] of pages) {
      expect(text, file).not.toMatch(/pH 4\.6|costs the test nothing|a cracker/);
    }
  });
});
