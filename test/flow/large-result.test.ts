import type { Part } from '@oddglass/shared/contracts/part.ts';
import { descriptionResult } from '@oddglass/shared/contracts/result-description.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { firstHost, newTrial } from '../support/app.ts';
import { playSession, type Palate } from '../support/simulated-panel.ts';
import { SIZES } from '../support/looking.ts';
import { useStage } from '../support/stage.ts';
import { expect, test } from 'vitest';

// The largest result the house plans for: 60 words, 8 samples, 100 assessors. Its page is whole without scripts, and how
// long it takes is printed, not asserted: two cores are shared with whatever else runs.

const [WORDS, SAMPLES, ASSESSORS] = [60, 8, 100];
const REPEATS = 5;
const stage = useStage('large-result', { clock: 'moved' });

/** A number from 0 to 1 that is always the same for the same three. */
function scatter(a: number, b: number, c: number): number {
  const wave = Math.sin(a * 12.9898 + b * 78.233 + c * 37.719) * 43758.5453;
  return wave - Math.floor(wave);
}

test('60 words by 8 samples by 100 assessors: a whole page, its first plot without scripts', async () => {
  const { server, address } = stage;
  const host = await firstHost(server.app);
  const trial = await newTrial(host, {
    arms: Array.from({ length: SAMPLES }, (_, index) => ({
      name: `Vessel ${index + 1}`,
      differs: `vessel number ${index + 1}`,
      volumeMl: 100_000,
      abv: 4,
      allergens: [],
    })),
  });
  const words = BUILT_IN.words.slice(0, WORDS).map(({ id }) => id);
  const part: Part = {
    kind: 'description',
    cups: 'own',
    samples: trial.arms.map(({ id }) => ({ armId: id, role: 'sample', spike: null })),
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
    words,
    intensity: false,
  };
  const palate: Palate = ({ seat, cups: [cup] }) => {
    const arm = trial.arms.findIndex(({ id }) => id === cup!.armId);
    // The first ten words follow the arm, the others follow nothing.
    const checked = words.filter(
      (_, at) => scatter(seat, arm, at) < (at < 10 && at % SAMPLES === arm ? 0.5 : 0.12),
    );
    return {
      kind: 'description',
      words: checked.map((id) => ({ id, intensity: null })),
      ownWords: [],
      none: checked.length === 0,
    };
  };
  const plan = { assessors: ASSESSORS, spareSeats: 0, cupMl: 20, parts: [part] };
  const session = await playSession(server, host, trial, plan, palate);

  const url = `${address}/bench/session/${session.id}/result`;
  const times: number[] = [];
  let html = '';
  for (let turn = 0; turn < REPEATS; turn++) {
    const started = performance.now();
    const response = await fetch(url, { headers: { cookie: host.caller.cookie ?? '' } });
    html = await response.text();
    times.push(performance.now() - started);
  }
  const sorted = times.map(Math.round).sort((a, b) => a - b);
  console.log(
    `result page, ${WORDS} words x ${SAMPLES} samples x ${ASSESSORS} assessors: first ${Math.round(times[0]!)} ms, ` +
      `median ${sorted[Math.floor(REPEATS / 2)]} ms of ${REPEATS}, ${Math.round(html.length / 1024)} KB of HTML`,
  );

  const { parts } = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  const result = descriptionResult.parse(parts[0]);
  expect(result.served).toEqual({
    seated: ASSESSORS,
    assessors: ASSESSORS,
    answers: ASSESSORS * SAMPLES,
    unanswered: 0,
  });

  const plain = await stage.browserOf(host, { javaScriptEnabled: false, viewport: SIZES.tablet });
  const page = await plain.newPage();
  await page.goto(url);
  expect(await page.locator('main').innerText()).toContain(result.finding.headline);
  const plot = page.locator('main figure svg').first();
  expect(await plot.isVisible()).toBe(true);
  expect(await plot.locator('circle, path, rect').count()).toBeGreaterThan(20);
  // The first plot stands within the first two screens of a tablet.
  expect((await plot.boundingBox())!.y).toBeLessThan(2 * 820);
}, 240_000);
