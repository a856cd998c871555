import { equal, numberOf, type Check } from './verify-format.ts';

// How the verifier (verify.ts) says what it looked at: single figures, and tables with every figure that differs by name.

/** Relative: figures come from other formulas and other sums. */
const NEAR = 1e-6;
/** Of small panels some figures are told rounded: to which step at most, where a check says nothing else. */
const STEP = 0.05;

/** One table under way: what differs is said as ‘… is …, and should be …’. Withheld figures (null) say nothing. */
export interface Cells {
  /** Figures of small panels may be rounded. */
  coarse: boolean;
  is: (what: string, found: unknown, expected: unknown, step?: number) => void;
  /** A figure from `low` to `high`. */
  within: (what: string, found: unknown, low: number, high: number) => void;
  /** A whole number from 0 to `most`. */
  count: (what: string, found: unknown, most?: number) => void;
  /** A p: of small panels it may be the upper end of a band. */
  p: (what: string, found: unknown, expected: unknown) => void;
  fault: (what: string) => void;
}

export interface Report {
  checks: Check[];
  /** Numbers are the same to nine digits. */
  same: (name: string, found: unknown, expected: unknown) => void;
  /** Each thing the body says is a fault; so is what it cannot read. */
  none: (name: string, body: (fault: (what: string) => void) => void) => void;
}

/** Looks at one table; `coarse`: told of a small panel. */
export type Look = (what: string, body: (cells: Cells) => void) => void;

export function reportOf(at: string): Report {
  const checks: Check[] = [];
  return {
    checks,
    same(name, found, expected) {
      const near =
        typeof found === 'number' &&
        typeof expected === 'number' &&
        Math.abs(found - expected) <= 1e-9 * Math.max(1, Math.abs(expected));
      const { ok, ...rest } = equal(`${at}, ${name}`, found, expected);
      checks.push({ ...rest, ok: ok || near });
    },
    none(name, body) {
      const faults: string[] = [];
      try {
        body((what) => faults.push(what));
      } catch (reason) {
        faults.push(`cannot be read: ${String(reason)}`);
      }
      const found = faults.length === 0 ? 'as it should be' : faults.slice(0, 3).join('; ');
      checks.push({ name: `${at}, ${name}`, ok: faults.length === 0, found, expected: 'as it should be' });
    },
  };
}

export function lookOf({ none }: Report, about: string, coarse: boolean): Look {
  return (what, body) => none(`${about}: ${what}`, (fault) => body(cellsOf(fault, coarse)));
}

function cellsOf(fault: Cells['fault'], coarse: boolean): Cells {
  const differ = (what: string, found: unknown, expected: unknown): void =>
    fault(`${what} is ${shown(found)}, and should be ${shown(expected)}`);
  const near = (found: number, expected: number): boolean =>
    Math.abs(found - expected) <= NEAR * Math.abs(expected) + 1e-10;
  const told = (found: unknown): boolean => found !== null && found !== undefined;
  return {
    coarse,
    fault,
    is(what, found, expected, step = STEP) {
      if (!told(found)) return;
      if (typeof found !== 'number' || typeof expected !== 'number') {
        if (found !== expected) differ(what, found, expected);
        return;
      }
      const rounded = coarse && isRound(found, 3) && Math.abs(found - expected) <= step / 2 + 1e-9;
      if (!near(found, expected) && !rounded) differ(what, found, expected);
    },
    within(what, found, low, high) {
      if (!told(found)) return;
      const inside = typeof found === 'number' && found >= low - 1e-9 && found <= high + 1e-9;
      if (!inside) fault(`${what} is ${shown(found)}, and should lie from ${shown(low)} to ${shown(high)}`);
    },
    count(what, found, most = Infinity) {
      if (!told(found)) return;
      if (!Number.isInteger(found) || Number(found) < 0 || Number(found) > most) {
        const top = Number.isFinite(most) ? `from 0 to ${most}` : 'from 0';
        fault(`${what} is ${shown(found)}, and should be a whole number ${top}`);
      }
    },
    p(what, found, expected) {
      if (!told(found)) return;
      if (typeof found !== 'number' || typeof expected !== 'number') {
        if (found !== expected) differ(what, found, expected);
        return;
      }
      const band = coarse && isRound(found, 2) && found >= expected - 1e-12 && found <= 1;
      if (!near(found, expected) && !band) differ(what, found, expected);
    },
  };
}

/** Does a number have so few digits? */
const isRound = (value: number, digits: number): boolean => Number(value.toPrecision(digits)) === value;

function shown(value: unknown): string {
  return typeof value === 'number' ? String(Number(value.toPrecision(10))) : JSON.stringify(value ?? null);
}

/** The sum of what is told; null where something of it is withheld. */
export function whole(list: readonly (number | null | undefined)[]): number | null {
  let sum = 0;
  for (const one of list) {
    if (one === null || one === undefined) return null;
    sum += one;
  }
  return sum;
}

/** A p from random orders is so many of them and the one seen. */
export function checkDrawn(test: Record<string, unknown>, cells: Cells): void {
  const [p, drawn] = [numberOf(test['p']), numberOf(test['permutations'])];
  cells.within('p', p, 0, 1);
  if (p === null || drawn === null || test['route'] !== 'permutation' || cells.coarse) return;
  cells.count('random orders', drawn);
  // Where drawing stopped early, so many of those drawn reached it (Besag and Clifford 1991).
  const fits = [p * (drawn + 1), p * drawn].some((times) => Math.abs(times - Math.round(times)) < 1e-6);
  if (!fits) cells.fault(`p is ${p}, which is no number of ${drawn} random orders`);
}

/** The standard error of a difference of rank sums, from how far these lie off their middle and Friedman's statistic. */
export function rankScale(off: readonly number[], square: number | null): number | null {
  if (square === null || square <= 0) return null;
  return Math.sqrt((2 * off.reduce((sum, one) => sum + one ** 2, 0)) / square);
}
