import { dealOrders } from './orders.ts';
import { drawIncompleteBlocks } from './incomplete-blocks.ts';
import { shuffled, type RandomSource } from './random.ts';
import { williamsSquare } from './williams.ts';

/** A cup of a flight that takes part in the balance: warm-ups and marked cups do not. */
export interface FlightSample {
  id: string;
  /** Shared by cups of one liquid: these are kept apart. */
  sameAs: string;
}

/** These samples cannot be served without two cups of one liquid side by side. */
export class NotApartError extends RangeError {
  override readonly name = 'NotApartError';
}

export interface FlightDesign {
  /** 2 to 13, ids all different. */
  samples: readonly FlightSample[];
  /** Cups of one flight per seat; null: all of them. */
  cupsEach: number | null;
  seats: number;
  replicates: number;
  random: RandomSource;
}

/**
 * Orders of sample ids, for each seat one for each replicate.
 * @throws NotApartError when cups of one liquid would stand side by side; RangeError for sizes out of range.
 */
export function drawFlightOrders(design: FlightDesign): string[][][] {
  const { samples, cupsEach, seats, replicates, random } = design;
  checkApart(samples, cupsEach);
  const ids = samples.map(({ id }) => id);
  if (cupsEach !== null && cupsEach < samples.length) {
    const dealt = Array.from({ length: replicates }, () =>
      drawIncompleteBlocks({ samples: ids, perBlock: cupsEach, seats, random }),
    );
    return Array.from({ length: seats }, (_, seat) => dealt.map((orders) => orders[seat] ?? []));
  }
  const rows: string[][][] = [];
  while (rows.length < seats) {
    const names = shuffled(random, ids);
    const square = williamsSquare(ids.length).slice(0, ids.length);
    const orders = square.map((row) => row.map((at) => names[at] ?? ''));
    rows.push(...dealOrders(random, { orders, seats: ids.length, replicates }));
  }
  return rows.slice(0, seats);
}

/**
 * Can cups of one liquid be kept apart?
 * @throws NotApartError when they cannot.
 */
export function checkApart(samples: readonly FlightSample[], cupsEach: number | null): void {
  const counts = new Map<string, number>();
  for (const { sameAs } of samples) counts.set(sameAs, (counts.get(sameAs) ?? 0) + 1);
  const most = Math.max(...counts.values());
  if (most > Math.ceil(samples.length / 2)) {
    throw new NotApartError(
      `${most} of ${samples.length} cups are the same: two of them would always stand side by side.`,
    );
  }
  if (cupsEach === 2 && cupsEach < samples.length && most > 1) {
    throw new NotApartError(
      'With two cups each a hidden duplicate would stand beside its sample: serve three or more, or all of them.',
    );
  }
}
