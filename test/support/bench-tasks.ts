import { drawCodes } from '@oddglass/shared/design/codes.ts';
import { seededRandom, type RandomSource } from '@oddglass/shared/ground/random.ts';
import { buildSeal } from '@oddglass/shared/design/seal.ts';
import { drawPlan, type Plan } from '@oddglass/shared/design/plan-draw.ts';
import { drawWilliamsOrders } from '@oddglass/shared/design/williams.ts';
import { cochranQSteps } from '@oddglass/shared/stats/descriptor/cochran-q.ts';
import { correspondenceEllipsesSteps } from '@oddglass/shared/stats/descriptor/correspondence-ellipses.ts';
import { descriptorFrequencies } from '@oddglass/shared/stats/descriptor/frequencies.ts';
import { mcnemarPairs } from '@oddglass/shared/stats/descriptor/mcnemar-pairs.ts';
import { profileTestSteps } from '@oddglass/shared/stats/descriptor/profile-test.ts';
import type { Steps } from '@oddglass/shared/ground/in-slices.ts';
import { benjaminiHochberg, holm } from '@oddglass/shared/stats/multiplicity.ts';
import { balancedAnova } from '@oddglass/shared/stats/rating/anova.ts';
import { mixedModel } from '@oddglass/shared/stats/rating/mixed-model.ts';
import { tukey } from '@oddglass/shared/stats/rating/tukey.ts';
import { studentQuantile } from '@oddglass/shared/stats/student-t.ts';
import { ballotsOf, ratingsOf, type BenchSize, type ChoiceData, type RatingData } from './bench-data.ts';

export interface BenchInput {
  size: BenchSize;
  seed: number;
  complete: RatingData;
  gaps: RatingData;
  choices: ChoiceData;
}

/** A task does its work in steps and returns numbers that the other software has to find as well. */
type Task = (input: BenchInput) => Steps<number[]>;

export type TaskName = 'anova' | 'mixed' | 'descriptors' | 'orders' | 'plan' | 'seal';

export const TASKS: Readonly<Record<TaskName, Task>> = {
  anova: ({ complete }) => completeRatings(complete),
  mixed: ({ gaps }) => ratingsWithGaps(gaps),
  descriptors: ({ choices, seed }) => descriptors(choices, randomOf(seed)),
  *orders({ size, seed }) {
    const samples = Array.from({ length: size.samples }, (_, i) => `s${i + 1}`);
    const random = randomOf(seed);
    const orders = drawWilliamsOrders({ samples, seats: size.seats, random });
    yield;
    return [orders.length, drawCodes(random, Array<number>(size.seats).fill(size.samples)).length];
  },
  *plan({ size, seed }) {
    return [yield* countSeats(plans(size, seed))];
  },
  *seal({ size, seed }) {
    let leaves = 0;
    for (const plan of plans(size, seed)) {
      yield;
      leaves += sealOf(plan, randomOf(seed + 1));
      yield;
    }
    return [leaves];
  },
};

/** Means with intervals, F, all pairs by Tukey, per attribute; Holm over attributes. */
function* completeRatings(data: RatingData): Steps<number[]> {
  const p: (number | null)[] = [];
  const numbers: number[] = [];
  for (let attribute = 0; attribute < data.size.attributes; attribute += 1) {
    const anova = balancedAnova({ ratings: ratingsOf(data, attribute) });
    p.push(anova.sampleTest?.p ?? null);
    if (!anova.error || !anova.sampleTest) continue;
    const { pairs } = tukey({ means: anova.means, msError: anova.error.ms, df: anova.error.df, alpha: 0.05 });
    numbers.push(anova.sampleTest.f, ...pairs.map((pair) => pair.p));
    // Variance of a mean for assessors like these: (MS assessor + (k - 1) MS error) / (n k), Satterthwaite 1946.
    const assessor = anova.rows.find(({ source }) => source === 'assessor');
    const k = anova.samples.length;
    const parts = [assessor?.ms ?? 0, (k - 1) * anova.error.ms];
    const sum = (parts[0] ?? 0) + (parts[1] ?? 0);
    const df =
      sum ** 2 / ((parts[0] ?? 0) ** 2 / (assessor?.df ?? 1) + (parts[1] ?? 0) ** 2 / anova.error.df);
    const reach = -studentQuantile(0.025, df) * Math.sqrt(sum / (k * anova.assessors.length));
    for (const { mean } of anova.means) numbers.push(mean - reach, mean + reach);
    yield;
  }
  return [...numbers, ...holm({ p }).adjusted.map((value) => value ?? 1)];
}

/** The same by a mixed model, where some ratings are missing. */
function* ratingsWithGaps(data: RatingData): Steps<number[]> {
  const p: (number | null)[] = [];
  const numbers: number[] = [];
  for (let attribute = 0; attribute < data.size.attributes; attribute += 1) {
    const model = mixedModel({ ratings: ratingsOf(data, attribute), interaction: false, level: 0.95 });
    p.push(model.sampleTest?.p ?? null);
    numbers.push(model.sampleTest?.f ?? NaN, ...model.pairs.map((pair) => pair.tukey));
    for (const { lower, upper } of model.means) numbers.push(lower, upper);
    yield;
  }
  return [...numbers, ...holm({ p }).adjusted.map((value) => value ?? 1)];
}

/**
 * Per descriptor shares with intervals, Cochran's Q by permutation, exact McNemar pairs with Holm; Benjamini-Hochberg over
 * descriptors; the map with ellipses and the test that belongs beside it.
 */
function* descriptors(data: ChoiceData, random: RandomSource): Steps<number[]> {
  const ballots = ballotsOf(data);
  const { draws } = data.size;
  const p: number[] = [];
  const numbers: number[] = [];
  for (let descriptor = 0; descriptor < data.size.descriptors; descriptor += 1) {
    const rows = ballots.map((assessor) => assessor.map((ballot) => ballot[descriptor] ?? 0));
    const { samples } = descriptorFrequencies({ rows, level: 0.95 });
    const test = yield* cochranQSteps({ rows, random, permutations: draws });
    p.push(test.p);
    yield;
    const { pairs } = mcnemarPairs({ rows });
    numbers.push(test.q ?? NaN, ...pairs.map(({ pHolm }) => pHolm));
    for (const { lower, upper } of samples) numbers.push(lower, upper);
    yield;
  }
  // Drawn, so not for comparison; computed all the same.
  benjaminiHochberg({ p });
  const { map } = yield* correspondenceEllipsesSteps({ ballots, level: 0.95, resamples: draws, random });
  yield;
  const profile = yield* profileTestSteps({ ballots, permutations: draws, random });
  return [...numbers, ...map.axes.map(({ inertia }) => inertia), profile.chiSquare ?? NaN];
}

/** Triangle plans of at most 400 seats each. */
function* plans({ seats }: BenchSize, seed: number): Generator<Plan> {
  for (let done = 0; done < seats; done += 400) {
    const here = Math.min(400, seats - done);
    const bytes = seedBytes(seed + done);
    yield drawPlan({
      seats: here,
      parts: [{ kind: 'triangle', number: 1, replicates: 1, sampleIds: ['one', 'other'] }],
      seed: bytes,
    });
  }
}

function* countSeats(drawn: Iterable<Plan>): Steps<number> {
  let seats = 0;
  for (const plan of drawn) {
    seats += plan.seats.length;
    yield;
  }
  return seats;
}

function sealOf(plan: Plan, random: RandomSource): number {
  const samples = [
    { id: 'one', armId: 'control', armName: 'Control' },
    { id: 'other', armId: 'trial', armName: 'Trial' },
  ].map((sample) => ({ ...sample, part: 1, role: 'sample' as const, spike: null, control: null }));
  return buildSeal({ settings: { method: 'triangle', alpha: 0.05 }, samples, plan, random }).leaves.length;
}

function randomOf(seed: number): RandomSource {
  return seededRandom(seedBytes(seed));
}

function seedBytes(seed: number): Uint8Array {
  const bytes = new Uint8Array(32);
  new DataView(bytes.buffer).setUint32(0, seed);
  return bytes;
}
