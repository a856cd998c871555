import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { plotFile, PLOT_COLOURS } from '../../web/src/lib/plot/plot-file.ts';

const look = readFileSync(new URL('../../web/src/lib/ui/look.css', import.meta.url), 'utf8');

test('colours of a file are those of the light page', () => {
  for (const [name, colour] of Object.entries(PLOT_COLOURS))
    // The first rule is the light page.
    expect(new RegExp(`${name}: (#[0-9a-f]{6});`).exec(look)?.[1], name).toBe(colour);
});

test('a drawing becomes a file of its own, without what only the page knows', () => {
  const markup =
    '<!--[--><svg class="plot s1" id="x" font-size="15" viewBox="0 0 620 220" role="img" aria-label="pH > 4 &amp; days"><!--[--><line stroke="var(--hair)"></line><!--]--></svg><!--]-->';
  const file = plotFile(markup, 'Sour < 5 & more');
  expect(file).toContain('<svg xmlns="http://www.w3.org/2000/svg" width="620" height="220"');
  expect(file).toContain('<title>Sour &lt; 5 &amp; more</title>');
  expect(file).toContain('stroke="#d9cfbf"');
  expect(file).not.toMatch(/var\(|class=|<!--|id="x"/);
  expect(() => plotFile('<p>no drawing</p>', '')).toThrow(RangeError);
});
