import type { PanelView } from '@oddglass/shared/contracts/panel.ts';
import type { TrialPulls } from '@oddglass/shared/contracts/pull.ts';
import { story, type Story } from '@oddglass/shared/contracts/story.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { lastValues } from '@oddglass/shared/notebook/last-reading.ts';
import { questionsOf } from '@oddglass/shared/notebook/plausible.ts';
import { beforeAll, expect, test } from 'vitest';
import { usePanel, type Hosted, type TestServer } from '../support/app.ts';

// The demo as somebody meets it: a trial of some weeks whose notebook, evenings and story agree with each other.

const DAY_MS = 86_400_000;

let server: TestServer;
let host: Hosted;
let trial: TrialView;
let pulls: TrialPulls;
let told: Story;

usePanel((panel) => ({ server, host } = panel));
beforeAll(async () => {
  const panel = await host.caller.ok<PanelView>('POST', '/api/panels/demo', {});
  const id = panel.trials[0]?.id ?? '';
  trial = await host.caller.ok('GET', `/api/trials/${id}`);
  pulls = await host.caller.ok('GET', `/api/trials/${id}/pulls`);
  told = story.parse(await host.caller.ok('GET', `/api/trials/${id}/story`));
});

test('every arm was read at every pull that is over; one pull is due within the week, and others lie ahead', () => {
  const now = server.clock.now.getTime();
  const due = pulls.pulls.map(({ when, readings }) => ({
    inDays:
      (Date.parse(pulls.pitchedAt ?? '') + (when.kind === 'hours' ? when.hours : NaN) * 3_600_000 - now) /
      DAY_MS,
    arms: new Set(readings.map(({ arm }) => arm)).size,
  }));
  const taken = due.filter(({ inDays }) => inDays < 0);
  expect(taken.length).toBeGreaterThanOrEqual(6);
  expect(taken.every(({ arms }) => arms === trial.arms.length)).toBe(true);
  const ahead = due.filter(({ inDays }) => inDays > 0);
  expect(ahead.every(({ arms }) => arms === 0)).toBe(true);
  expect(ahead.filter(({ inDays }) => inDays <= 7)).toHaveLength(1);
  expect(ahead.length).toBeGreaterThanOrEqual(3);
});

test('no number that stands would be asked about, and one was put right', () => {
  const rows = pulls.pulls
    .flatMap(({ readings }) => readings)
    .sort((a, b) => (a.takenAt < b.takenAt ? -1 : 1));
  for (const { id } of trial.arms) {
    const own = rows.filter(({ arm, current }) => arm === id && current);
    for (const [at, reading] of own.entries()) {
      const before = own[at - 1] ?? null;
      const beside = {
        before,
        leftMl: null,
        takenAt: reading.takenAt,
        now: reading.writtenAt,
        decimal: '.',
      } as const;
      expect(questionsOf(reading.typed, beside), reading.takenAt).toEqual([]);
    }
    const gravities = own.map(({ gravity }) => gravity ?? NaN);
    expect(gravities).toEqual(gravities.toSorted((a, b) => b - a));
  }
  expect(rows.filter(({ current }) => !current)).toHaveLength(1);
  expect(rows.filter(({ replaces }) => replaces !== null)).toHaveLength(1);
});

test('alcohol agrees with the gravity that was lost', () => {
  for (const { id, abv } of trial.arms) {
    const { gravity } = lastValues(
      pulls.pulls.flatMap(({ readings }) => readings),
      id,
      server.clock.now.toISOString(),
    );
    // Common practice, no source: alcohol by volume is about 131 times the gravity lost.
    expect(131.25 * ((trial.making.originalGravity ?? 0) - (gravity ?? 0))).toBeCloseTo(abv ?? 0, 0);
  }
});

test('the liquid lasts, and what was read lets people taste', () => {
  for (const arm of trial.arms) {
    expect(arm.liquid.leftMl - arm.liquid.reservedMl).toBeGreaterThan(1_000);
    const moved = arm.liquid.lines.map(({ kind }) => kind);
    expect(moved).toContain('pull');
    expect(moved).toContain('poured');
    expect(arm.safety).toMatchObject({ gravityFalling: false, mould: false });
    expect(arm.safety?.ph).toBeLessThan(4.6);
  }
});

test('one finding has the host’s answer, and what opening a vessel means has none', () => {
  const answered = trial.fairTest.filter((finding) => finding.answered !== null);
  expect(answered.map(({ id }) => id)).toEqual(['unknown cellsBillion']);
  const open = trial.fairTest.filter(({ kind, answered }) => kind === 'sign' && answered === null);
  expect(open).toHaveLength(1);
  expect(told.open.map(({ sentence }) => sentence)).toContain(open[0]?.says);
});

test('the story has its lines, a test over sessions, the deviation, and what would settle more', () => {
  expect(told.readings.map(({ measure }) => measure)).toEqual(['ph', 'gravity', 'temperature']);
  for (const { lines } of told.readings)
    expect(lines.map(({ points }) => points.length)).toEqual(trial.arms.map(() => 6));
  expect(told.sessions.length).toBeGreaterThanOrEqual(5);
  expect(told.differences.length).toBeGreaterThanOrEqual(3);
  expect(told.attributes.length).toBeGreaterThanOrEqual(4);
  expect(told.signs.filter(({ kind }) => kind === 'deviation')).toHaveLength(1);
  expect(told.signs.filter(({ kind }) => kind !== 'deviation').length).toBeGreaterThan(3);
  expect(told.forward.next.length).toBeGreaterThan(0);
  expect(told.waiting.map(({ state }) => state)).toEqual(['open']);
});
