import type { LiquidKind, LiquidLine, LiquidView } from '../contracts/liquid.ts';

export interface LiquidEntry {
  kind: LiquidKind;
  /** Millilitres, from 0. */
  ml: number;
  /** ISO 8601. */
  at: string;
  /** Which came first of two in one moment. */
  order: number;
  note: string;
}

/** What each kind makes of what was there before, mL. */
const AFTER: Readonly<Record<LiquidKind, (left: number, ml: number) => number>> = {
  filled: (left, ml) => left + ml,
  added: (left, ml) => left + ml,
  counted: (_left, ml) => ml,
  loss: (left, ml) => left - ml,
  pull: (left, ml) => left - ml,
  poured: (left, ml) => left - ml,
};

/**
 * The ledger of one arm: entries in the order of their moments, and what is left after each, mL. What somebody counted
 * stands whatever was noted before it. More taken than was there is told as less than zero and not evened out, since
 * something was noted wrongly then. `reservedMl` is what sealed tastings hold back; `vesselMl` null: size unknown.
 * Errors: none; a volume below zero or no number counts as written. Source: own bookkeeping.
 * Example: `liquidLedger([{ kind: 'filled', ml: 900, at: '2031-03-01T10:00:00Z', order: 1, note: '' }], { reservedMl: 120, vesselMl: 1000 }).headspaceMl` is 100
 */
export function liquidLedger(
  entries: readonly LiquidEntry[],
  { reservedMl, vesselMl }: { reservedMl: number; vesselMl: number | null },
): LiquidView {
  let left = 0;
  const lines = [...entries]
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at) || a.order - b.order)
    .map(({ kind, ml, at, note }): LiquidLine => {
      // Sums of tenths stay sums of tenths.
      left = Math.round(AFTER[kind](left, ml) * 1_000) / 1_000;
      return { kind, ml, at, note, leftMl: left };
    });
  return {
    leftMl: left,
    reservedMl,
    headspaceMl: vesselMl === null ? null : Math.max(0, vesselMl - Math.max(0, left)),
    lines,
  };
}

/** What a further plan can use, mL: left and not held back, never below zero. Example: `freeMl({ leftMl: 100, reservedMl: 120 })` is 0 */
export function freeMl({ leftMl, reservedMl }: Pick<LiquidView, 'leftMl' | 'reservedMl'>): number {
  return Math.max(0, leftMl - reservedMl);
}
