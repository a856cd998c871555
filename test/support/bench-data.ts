import type { Rating } from '@oddglass/shared/stats/rating/ratings.ts';
import { simulatedPanel } from './percepts.ts';

/** How much there is to do. */
export interface BenchSize {
  assessors: number;
  samples: number;
  attributes: number;
  descriptors: number;
  /** Permutations and resamples. */
  draws: number;
  seats: number;
}

/** Invented ratings in one flat list: (attribute, assessor, sample), the sample fastest; NaN where there is none. */
export interface RatingData {
  size: BenchSize;
  values: Float64Array;
}

/** Invented choices, 0 or 1, in one flat list: (assessor, sample, descriptor), the descriptor fastest. */
export interface ChoiceData {
  size: BenchSize;
  values: Uint8Array;
}

/** Ratings on a scale of 0 to 100, samples a little apart, assessors more so. `missing`: share of ratings that are not there. */
export function benchRatings(size: BenchSize, seed: number, missing: number): RatingData {
  const { normal, uniform } = simulatedPanel(seed);
  const values = new Float64Array(size.attributes * size.assessors * size.samples);
  let at = 0;
  for (let attribute = 0; attribute < size.attributes; attribute += 1) {
    const samples = Array.from({ length: size.samples }, () => 2 * normal());
    for (let assessor = 0; assessor < size.assessors; assessor += 1) {
      const level = 50 + 10 * normal();
      for (const sample of samples) {
        const value = Math.round(10 * Math.min(100, Math.max(0, level + sample + 15 * normal()))) / 10;
        values[at] = uniform() < missing ? NaN : value;
        at += 1;
      }
    }
  }
  return { size, values };
}

/** Choices of descriptors, some chosen by half the panel and some by hardly anybody, samples a little apart. */
export function benchChoices(size: BenchSize, seed: number): ChoiceData {
  const { normal, uniform } = simulatedPanel(seed);
  const logits = Array.from({ length: size.samples }, () => new Array<number>(size.descriptors).fill(0));
  for (let descriptor = 0; descriptor < size.descriptors; descriptor += 1) {
    const common = -3.5 + (3.5 * descriptor) / size.descriptors;
    for (const row of logits) row[descriptor] = common + 0.4 * normal();
  }
  const values = new Uint8Array(size.assessors * size.samples * size.descriptors);
  let at = 0;
  for (let assessor = 0; assessor < size.assessors; assessor += 1) {
    const own = Array.from({ length: size.descriptors }, () => normal());
    for (const row of logits) {
      row.forEach((logit, descriptor) => {
        values[at] = uniform() < 1 / (1 + Math.exp(-logit - (own[descriptor] ?? 0))) ? 1 : 0;
        at += 1;
      });
    }
  }
  return { size, values };
}

/** Ratings of one attribute, as the methods take them. */
export function ratingsOf({ size, values }: RatingData, attribute: number): Rating[] {
  const ratings: Rating[] = [];
  let at = attribute * size.assessors * size.samples;
  for (let assessor = 0; assessor < size.assessors; assessor += 1) {
    for (let sample = 0; sample < size.samples; sample += 1) {
      const value = values[at] ?? NaN;
      at += 1;
      if (!Number.isNaN(value))
        ratings.push({ assessor: name('a', assessor), sample: name('s', sample), value });
    }
  }
  return ratings;
}

/** Ballots, assessor by sample by descriptor, as the methods take them. */
export function ballotsOf({ size, values }: ChoiceData): number[][][] {
  const { assessors, samples, descriptors } = size;
  return Array.from({ length: assessors }, (_, assessor) =>
    Array.from({ length: samples }, (_unused, sample) => {
      const at = (assessor * samples + sample) * descriptors;
      return [...values.subarray(at, at + descriptors)];
    }),
  );
}

/** The flat list as text, one number a line, 'NA' where there is none. */
export function asLines(values: ArrayLike<number>): string {
  return `${Array.from(values, (value) => (Number.isNaN(value) ? 'NA' : String(value))).join('\n')}\n`;
}

// Padded, so that the order of names is that of numbers.
function name(letter: string, index: number): string {
  return `${letter}${String(index + 1).padStart(4, '0')}`;
}
