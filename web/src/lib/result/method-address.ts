import type { TriangleResult } from '@oddglass/shared/contracts/result.ts';

/** The parts of a result whose numbers a method note opens, and the id of that note. */
const NOTES = {
  p: 'exact-p',
  critical: 'critical-number',
  share: 'share',
  dPrime: 'd-prime',
  similarity: 'similarity',
  power: 'power',
  confidence: 'confidence',
  orders: 'orders',
  positions: 'positions',
  // Repeated trays widen the interval of the share; its note says how.
  replicates: 'share',
} as const;
export type Topic = keyof typeof NOTES;

/** Id of a note on the page. */
export function methodAnchor(id: string): string {
  return `method-${id}`;
}

/** Where on the page the numbers of a topic are opened; undefined when the document has no note on it. */
export function methodAddress(result: TriangleResult, topic: Topic): string | undefined {
  const note = result.methods.find(({ id }) => id === NOTES[topic]);
  return note && `#${methodAnchor(note.id)}`;
}
