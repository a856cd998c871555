import type { FlightPart, Part } from '@oddglass/shared/contracts/part.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { draft, firstHost, moved, newTrial, type Hosted } from './app.ts';
import { trianglePart } from './factories.ts';
import { expectAccessible, SIZES, WCAG } from './looking.ts';
import { byKeyboard, byTouch, type Look } from './seat-driver.ts';
import { useStage, type Stage } from './stage.ts';

// Every kind of part in a real browser, in two files that run side by side: one assessor answers by taps on a tablet, another by the keyboard alone on a phone's
// screen; every screen of the tablet and the result page pass axe; the result counts both.

// Colours are judged, not their fading in.
const DEVICE = { hasTouch: true, reducedMotion: 'reduce' } as const;

let stage: Stage;
let host: Hosted;
let trial: TrialView;
let bench: Page;

async function setUp(): Promise<void> {
  host = await firstHost(stage.server.app);
  trial = await newTrial(host, {
    arms: ['Coolvessel', 'Warmvessel', 'Oakvessel'].map((name) => ({
      name,
      differs: `the ${name}`,
      volumeMl: 20_000,
      abv: 4,
      allergens: ['gluten'],
    })),
  });
  bench = await stage.signedIn('Host', SIZES.tablet, DEVICE);
}

/** Looks at each different screen once: the same question about the next cup is the same screen. */
function looker(folder: string, judged = true): Look {
  const seen = new Set<string>();
  return async (page, heading) => {
    const name = heading
      .replaceAll(/\d{3}/g, 'cup')
      .replaceAll(/[^A-Za-z]+/g, '-')
      .slice(0, 40);
    if (seen.has(name)) return;
    seen.add(name);
    await stage.picture(page, `${folder}-${name}`, false);
    if (!judged) return;
    // Whole screens are judged: on a small one the foot lies over what has still to be scrolled to.
    const size = page.viewportSize() ?? SIZES.tablet;
    await page.setViewportSize({ width: size.width, height: Math.max(size.height, 1600) });
    await expectAccessible(page, heading, WCAG);
    await page.setViewportSize(size);
  };
}

async function sitDown(page: Page, session: SessionView, seat: number): Promise<void> {
  await page.goto(`${stage.address}/seat#${session.join?.token}`);
  await page.getByRole('radio', { name: String(seat), exact: true }).check({ force: true });
  await page.getByRole('button', { name: `Take seat ${seat}`, exact: true }).click();
  await page.getByRole('button', { name: 'I have read this and take part' }).click();
  await page.waitForFunction(() => !document.querySelector('main h1')?.textContent?.includes('Before you'));
}

const PAIR = { replicates: 1, alpha: 0.05, aim: 'difference', meaningfulShare: 0.5, beta: 0.2 } as const;
const pairOf = () => trial.arms.slice(0, 2).map(({ id }) => id);
const flight = (): Pick<FlightPart, 'cups' | 'samples' | 'replicates' | 'cupsEach' | 'alpha'> => ({
  cups: 'own',
  samples: trial.arms.map(({ id }) => ({ armId: id, role: 'sample', spike: null })),
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
});
const attributes = [
  { id: 'bitterness', name: 'bitterness', low: 'none', high: 'very strong' },
  { id: 'fruit', name: 'ripe fruit', low: 'none', high: 'very strong' },
];

const KINDS: Record<string, () => Part[]> = {
  triangle: () => [trianglePart(trial)],
  'duo-trio': () => [{ kind: 'duo-trio', armIds: pairOf(), ...PAIR, reference: 'balanced' }],
  tetrad: () => [{ kind: 'tetrad', armIds: pairOf(), ...PAIR }],
  'two-out-of-five': () => [{ kind: 'two-out-of-five', armIds: pairOf(), ...PAIR }],
  '3-AFC': () => [
    { kind: 'three-afc', armIds: pairOf(), ...PAIR, attribute: 'bitter', strongerArmId: pairOf()[0]! },
  ],
  'directional pair': () => [
    { kind: 'directional-pair', armIds: pairOf(), ...PAIR, attribute: 'bitter', strongerArmId: null },
  ],
  'paired preference': () => [{ kind: 'preference', armIds: pairOf(), alpha: 0.05, noPreference: true }],
  'same-different': () => [
    { kind: 'same-different', armIds: pairOf(), replicates: 2, alpha: 0.05, beta: 0.2, dPrime: 1.5 },
  ],
  'rating by sample, on a line': () => [
    { kind: 'rating', ...flight(), attributes, scale: 'line', by: 'sample', returning: true },
  ],
  'rating by attribute, nine points': () => [
    { kind: 'rating', ...flight(), attributes, scale: 'nine-point', by: 'attribute', returning: false },
  ],
  description: () => [{ kind: 'description', ...flight(), words: null, intensity: true }],
  'difference from control': () => [
    {
      kind: 'control',
      ...flight(),
      samples: flight().samples.slice(1),
      controlArmId: trial.arms[0]!.id,
      degrees: ['none', 'slight', 'moderate', 'large'],
    },
  ],
  ranking: () => [{ kind: 'ranking', ...flight(), attribute: 'sour' }],
  liking: () => [{ kind: 'liking', ...flight() }],
  'a triangle, then a description of the same cups': () => [
    trianglePart(trial),
    {
      kind: 'description',
      ...flight(),
      cups: 'before',
      samples: [],
      words: ['banana', 'clove', 'bread'],
      intensity: false,
    },
  ],
};

const CHOICES = new Set([
  'triangle',
  'duo-trio',
  'tetrad',
  'two-out-of-five',
  '3-AFC',
  'directional pair',
  'paired preference',
  'same-different',
]);

/** The evenings of these kinds, as tests of the file that calls it. */
export function playKinds(of: 'choices' | 'flights'): void {
  stage = useStage('parts');
  beforeAll(setUp);
  test.each(Object.keys(KINDS).filter((kind) => CHOICES.has(kind) === (of === 'choices')))(
    '%s',
    { timeout: 120_000 },
    async (kind) => {
      const parts = KINDS[kind]!();
      const session = await moved(
        host,
        await draft(host, trial, { assessors: 2, spareSeats: 0, title: 'An evening', parts }),
        'seal',
        'open',
      );
      const folder = kind.replaceAll(/[^A-Za-z0-9]+/g, '-');
      const [tablet, keys] = [
        await stage.newPage(SIZES.tablet, DEVICE),
        await stage.newPage(SIZES.phone, DEVICE),
      ];
      await sitDown(tablet, session, 1);
      const touched = await byTouch(tablet, looker(`${folder}-touch`));
      await sitDown(keys, session, 2);
      const typed = await byKeyboard(keys, looker(`${folder}-keys`, false));
      expect(typed.length).toBe(touched.length);
      for (const page of [tablet, keys]) {
        // The thanks come at once; the last answer may still be on its way when they do.
        await page.getByText('The host has all your answers').first().waitFor();
        await page.context().close();
      }

      await moved(host, session, 'close', 'reveal');
      const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
      expect(result.parts.map(({ kind: of }) => of)).toEqual(parts.map(({ kind: of }) => of));
      for (const { served } of result.parts) {
        expect(served).toMatchObject({ seated: 2, assessors: 2, unanswered: 0 });
        expect(served.answers).toBeGreaterThan(0);
      }
      await bench.goto(`${stage.address}/bench/session/${session.id}/result`);
      await bench.getByRole('heading', { level: 1 }).waitFor();
      await looker(`${folder}-result`)(bench, 'result');
      expect(await bench.locator('main').innerText()).toContain(result.parts[0]!.finding.headline);
      expect(stage.errors).toEqual([]);
    },
  );
}
