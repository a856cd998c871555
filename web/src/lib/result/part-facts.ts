import type { PartKind } from '@oddglass/shared/contracts/part.ts';
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

/** Kinds of a part by their name on the page. */
export const KIND_NAMES: Readonly<Record<PartKind, string>> = {
  triangle: 'Triangle test',
  'duo-trio': 'Duo-trio test',
  tetrad: 'Tetrad test',
  'three-afc': '3-AFC test',
  'directional-pair': 'Directional pair',
  preference: 'Paired preference',
  rating: 'Rating',
  description: 'Description',
  control: 'Difference from control',
  liking: 'Liking',
  ranking: 'Ranking',
};

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
