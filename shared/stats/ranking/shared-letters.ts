import { integerIn, StatsInputError } from '../../ground/input.ts';

/**
 * Letters for a table of samples: two samples share a letter just when they were not found to differ.
 * Insert and absorb: one group of all samples; each pair that differs splits every group that holds both; groups inside
 * others go. Letters follow `order`, so that the first sample in it has an a. Says nothing new: always name the method and
 * alpha beside it, and do not read a shared letter as being the same.
 *
 * samples whole from 1 to 200; different: pairs of samples, 0-based; order: every sample once, by default 0, 1, ...
 * Returns one string per sample. Errors: StatsInputError.
 * Source: Piepho 2004, J. Comput. Graph. Stat. 13:456 (from memory).
 * Example: `sharedLetters({ samples: 3, different: [[0, 2]] }).filter((letters) => letters.includes('b')).length` is 2
 */
export function sharedLetters({
  samples,
  different,
  order = Array.from({ length: samples }, (_, index) => index),
}: {
  samples: number;
  different: readonly (readonly [number, number])[];
  order?: readonly number[];
}): string[] {
  integerIn('samples', samples, 1, 200);
  const place = new Map(order.map((sample, at) => [sample, at]));
  for (let sample = 0; sample < samples; sample += 1) {
    if (order.length !== samples || !place.has(sample)) {
      throw new StatsInputError('order', order, `each sample from 0 to ${samples - 1} once`);
    }
  }
  let groups: Set<number>[] = [new Set(order)];
  for (const [one, other] of different) {
    integerIn('different', one, 0, samples - 1);
    integerIn('different', other, 0, samples - 1);
    if (one === other) throw new StatsInputError('different', [one, other], 'two different samples');
    groups = absorb(
      groups.flatMap((group) =>
        group.has(one) && group.has(other) ? [without(group, one), without(group, other)] : [group],
      ),
    );
  }
  const places = (group: Set<number>) =>
    [...group].map((sample) => place.get(sample) ?? 0).sort((a, b) => a - b);
  const sorted = groups
    .map((group) => ({ group, places: places(group) }))
    .sort((a, b) => compare(a.places, b.places));
  return Array.from({ length: samples }, (_, sample) =>
    sorted.flatMap(({ group }, index) => (group.has(sample) ? [letter(index)] : [])).join(''),
  );
}

function without(group: Set<number>, sample: number): Set<number> {
  const rest = new Set(group);
  rest.delete(sample);
  return rest;
}

/** Groups that lie inside another are dropped; of equal ones the first stays. */
function absorb(groups: readonly Set<number>[]): Set<number>[] {
  return groups.filter(
    (group, i) =>
      !groups.some((other, j) => i !== j && inside(group, other) && (other.size > group.size || j < i)),
  );
}

function inside(group: Set<number>, other: Set<number>): boolean {
  return [...group].every((sample) => other.has(sample));
}

function compare(a: readonly number[], b: readonly number[]): number {
  for (let i = 0; i < Math.min(a.length, b.length); i += 1) {
    const apart = (a[i] ?? 0) - (b[i] ?? 0);
    if (apart !== 0) return apart;
  }
  return a.length - b.length;
}

/** a to z, then a2 to z2 and so on. */
function letter(index: number): string {
  const round = Math.floor(index / 26);
  return String.fromCharCode(97 + (index % 26)) + (round === 0 ? '' : String(round + 1));
}
