import { expect } from 'vitest';
import type { DisclosureTier, OrderCount } from '@oddglass/shared/contracts/publication.ts';
import type { PartResult } from '@oddglass/shared/contracts/result.ts';
import {
  nothingWithheld,
  PROTECTIONS,
  type Protection,
  type Withheld,
} from '@oddglass/shared/publication/disclosure.ts';
import { disclosePart } from '@oddglass/shared/publication/disclosure-parts.ts';

export const TIERS = ['full', 'coarse', 'agreed'] as const satisfies DisclosureTier[];
export const NOT_SHOWN = 'Not shown: groups this small could point to people.';

interface Telling {
  tier?: DisclosureTier;
  /** Words that fewer than three people gave. */
  rare?: string[];
  /** Are single answers published? */
  rows?: boolean;
  /** Protections switched off. */
  without?: Protection[];
}

interface Told<P> {
  part: P;
  orders: OrderCount[];
  withheld: Withheld;
}

/** A part as readers get it, and what was counted as withheld of it; an error where all of it is. */
export function tell<P extends PartResult>(part: P, telling: Telling = {}): Told<P> {
  const told = tellIfAny(part, telling);
  if (told.part === null) throw new Error('the part is left out');
  return { ...told, part: told.part };
}

/** The same of a part that may be left out: it is null then. */
export function tellIfAny<P extends PartResult>(
  part: P,
  { tier = 'full', rare = [], rows = false, without = [] }: Telling = {},
): Told<P | null> {
  const withheld = nothingWithheld();
  const off = Object.fromEntries(without.map((name) => [name, false]));
  const told = disclosePart(part, {
    tier,
    protections: { ...PROTECTIONS, ...off },
    rare: new Set(rare),
    rowsTold: rows,
    withheld,
  });
  return { part: told && (told.part as P), orders: told?.orders ?? [], withheld };
}

/** Told to a step: a multiple of it, and none lies nearer to the exact figure. What is not known stays so. */
export function expectNear(
  told: number | null | undefined,
  exact: number | null | undefined,
  step: number,
): void {
  if (typeof exact !== 'number' || typeof told !== 'number') {
    expect([told, exact]).toEqual([null, null]);
    return;
  }
  expect(Math.abs(told / step - Math.round(told / step))).toBeLessThan(1e-9);
  expect(Math.abs(told - exact)).toBeLessThanOrEqual(step / 2 + 1e-9);
}
