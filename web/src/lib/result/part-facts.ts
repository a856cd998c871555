import type { Caveat, MethodNote, ServedFacts } from '@oddglass/shared/contracts/result-common.ts';

/** What the page shows of every part, whatever its kind. */
export interface PartFacts {
  /** Number of the part, from 1. */
  part: number;
  served: ServedFacts;
  finding: { headline: string; lede: string };
  caveats: Caveat[];
  methods: MethodNote[];
}

/** Anchor of a part on the page. */
export function partAnchor(part: number): string {
  return `part-${part}`;
}

/** Anchor of the agreement of assessors. */
export const AGREEMENT_ANCHOR = 'agreement';

/** Name of a saved plot, without its ending. */
export function plotFile(title: string, part: number, what: string): string {
  return `${title}-${part}-${what}`.toLowerCase().replace(/[^\p{L}\p{N}]+/gu, '-');
}
