import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { xoshiro } from '@oddglass/shared/ground/fast-random.ts';
import {
  correspondenceEllipses,
  correspondenceEllipsesSteps,
} from '@oddglass/shared/stats/descriptor/correspondence-ellipses.ts';
import { cochranQ, cochranQSteps } from '@oddglass/shared/stats/descriptor/cochran-q.ts';
import { profileTest, profileTestSteps } from '@oddglass/shared/stats/descriptor/profile-test.ts';
import { atOnce, inSlices, type Steps } from '@oddglass/shared/ground/in-slices.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';

/** A clock that steps move on: each takes the milliseconds given. Returns what happened, in order. */
function world(durations: readonly number[]) {
  const story: string[] = [];
  let time = 1000;
  function* steps(): Steps<string> {
    try {
      for (const [index, duration] of durations.entries()) {
        time += duration;
        story.push(`step ${index}`);
        yield;
      }
      return 'done';
    } finally {
      story.push('closed');
    }
  }
  const pause = async () => {
    // What others take must not count as work of the next slice.
    time += 500;
    story.push('pause');
  };
  return { story, steps: steps(), pause, now: () => time };
}

describe('inSlices', () => {
  it('pauses once `longest` is used up, and not before', async () => {
    const { story, ...rest } = world([4, 4, 4, 12, 1, 1]);
    expect(await inSlices({ ...rest, longest: 10 })).toBe('done');
    expect(story).toEqual([
      'step 0',
      'step 1',
      'step 2',
      'pause',
      'step 3',
      'pause',
      'step 4',
      'step 5',
      'closed',
    ]);
  });

  it('never works longer than `longest` and a step without a pause', async () => {
    const durations = fc.array(fc.integer({ min: 0, max: 30 }), { maxLength: 40 });
    await fc.assert(
      fc.asyncProperty(durations, fc.integer({ min: 0, max: 40 }), async (each, longest) => {
        const { story, ...rest } = world(each);
        await inSlices({ ...rest, longest });
        let run = 0;
        for (const event of story) {
          if (event === 'pause') run = 0;
          else if (event !== 'closed') {
            expect(run).toBeLessThan(Math.max(longest, 1));
            run += each[Number(event.slice(5))] ?? 0;
          }
        }
        expect(story.filter((event) => event.startsWith('step'))).toHaveLength(each.length);
      }),
    );
  });

  it('lets timers have their turn', async () => {
    let ticks = 0;
    function* busy(): Steps<number> {
      // As long as it takes on whatever machine; without a turn for timers it would take all steps.
      for (let step = 0; ticks < 3 && step < 5_000_000; step += 1) yield;
      return ticks;
    }
    const timer = setInterval(() => (ticks += 1), 1);
    const pause = () => new Promise<void>((resolve) => setImmediate(resolve));
    const seen = await inSlices({ steps: busy(), pause, now: () => performance.now(), longest: 1 });
    clearInterval(timer);
    expect(seen).toBeGreaterThan(2);
  });

  it('throws what a step throws', async () => {
    function* steps(): Steps<never> {
      yield;
      throw new RangeError('no such cup');
    }
    await expect(inSlices({ ...world([]), steps: steps(), longest: 0 })).rejects.toThrow('no such cup');
    expect(() => atOnce(steps())).toThrow('no such cup');
  });

  it('closes the steps when the pause rejects', async () => {
    const { story, ...rest } = world([1, 1, 1]);
    const pause = () => Promise.reject(new Error('stopped'));
    await expect(inSlices({ ...rest, pause, longest: 0 })).rejects.toThrow('stopped');
    expect(story).toEqual(['step 0', 'closed']);
  });

  it.each([-1, NaN, Infinity])('refuses a slice of %d ms', async (longest) => {
    await expect(inSlices({ ...world([1]), longest })).rejects.toThrow('longest');
  });
});

describe('analyses in steps', () => {
  const next = xoshiro([1, 2, 3, 4]);
  const ballots = Array.from({ length: 30 }, () =>
    Array.from({ length: 4 }, (_, sample) =>
      Array.from({ length: 6 }, () => (next() % 5 < 1 + sample / 2 ? 1 : 0)),
    ),
  );
  const random = () => seededRandom(new Uint8Array(32).fill(7));
  const pause = () => new Promise<void>((resolve) => setImmediate(resolve));
  const slices = { pause, now: () => performance.now(), longest: 0 };

  it('find the same map', async () => {
    const input = () => ({ ballots, level: 0.95, resamples: 500, random: random() });
    const sliced = await inSlices({ ...slices, steps: correspondenceEllipsesSteps(input()) });
    expect(sliced).toEqual(correspondenceEllipses(input()));
    expect(sliced.ellipses).toHaveLength(4);
  });

  it('find the same test of profiles', async () => {
    const input = () => ({ ballots, permutations: 999, random: random() });
    const steps = profileTestSteps(input());
    expect(await inSlices({ ...slices, steps })).toEqual(profileTest(input()));
  });

  it.each([
    { assessors: 30, route: 'exact' },
    { assessors: 120, route: 'permutation' },
  ])('find the same Q of $assessors assessors', async ({ assessors, route }) => {
    const rows = Array.from({ length: assessors }, () => Array.from({ length: 5 }, () => next() % 2));
    const input = () => ({ rows, permutations: 999, random: random() });
    const sliced = await inSlices({ ...slices, steps: cochranQSteps(input()) });
    expect(sliced).toEqual(cochranQ(input()));
    expect(sliced.route).toBe(route);
    const steps = cochranQSteps(input());
    let count = 0;
    while (!steps.next().done) count += 1;
    expect(count).toBeGreaterThan(0);
  });

  it('do not do all of it in one step', () => {
    const steps = profileTestSteps({ ballots, permutations: 999, random: random() });
    let count = 0;
    while (!steps.next().done) count += 1;
    expect(count).toBeGreaterThan(10);
  });
});
