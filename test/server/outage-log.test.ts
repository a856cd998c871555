import { Outage, type OutageOptions } from '@oddglass/server/refusal/outage.ts';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';

let away: boolean;
let told: { level: string; text: string; details: object }[];
let outage: Outage;

beforeEach(() => {
  vi.useFakeTimers();
  away = true;
  told = [];
  const tell = (level: string) => (details: object, text?: string) =>
    void told.push({ level, text: String(text), details });
  outage = new Outage({
    probe: () => (away ? Promise.reject(new Error('away')) : Promise.resolve()),
    log: { warn: tell('warn'), error: tell('error') } as unknown as OutageOptions['log'],
    now: () => Date.now(),
  });
});
afterEach(() => {
  outage.close();
  vi.useRealTimers();
});

test('150 seconds with a failure every half second: the beginning, two reminders, the end, and then the next one', async () => {
  for (let half = 0; half < 300; half++) {
    outage.note(new Error(`failure ${half}`));
    await vi.advanceTimersByTimeAsync(500);
  }
  expect(told.map(({ level, text }) => `${level}: ${text}`)).toEqual([
    'error: the database is away or held up: what needs it is answered 503 until it is back',
    'warn: the database is still away or held up',
    'warn: the database is still away or held up',
  ]);
  expect(told[0]?.details).toMatchObject({ err: { message: 'failure 0' } });
  away = false;
  await vi.advanceTimersByTimeAsync(10_000);
  expect(told.at(-1)).toMatchObject({ text: 'the database is back', details: { failures: 300 } });
  await vi.advanceTimersByTimeAsync(200_000);
  expect(told).toHaveLength(4);
  outage.note(new Error('another'));
  expect(told).toHaveLength(5);
});

test('rows held too long while the database answers: one outage, over when nobody was refused for a while', async () => {
  away = false;
  for (let round = 0; round < 10; round++) {
    outage.note(new Error('a row was held too long'));
    await vi.advanceTimersByTimeAsync(2_000);
  }
  expect(told).toHaveLength(1);
  await vi.advanceTimersByTimeAsync(5_000);
  expect(told).toHaveLength(2);
});
