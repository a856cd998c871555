import type { PartKind } from '@oddglass/shared/contracts/part.ts';
import { QUESTIONS } from '@oddglass/shared/kinds/kind.ts';
import { isPartKind, KINDS, PART_KINDS } from '@oddglass/shared/kinds/kinds.ts';

export interface KindOffer {
  kind: PartKind;
  name: string;
  /** What it answers, and what it needs. */
  note: string;
}

/** What a host can ask, by the question it answers. */
export const OFFERS: readonly { question: string; kinds: readonly KindOffer[] }[] = QUESTIONS.map(
  (question) => ({
    question,
    kinds: PART_KINDS.filter((kind) => KINDS[kind].offer.question === question).map((kind) => ({
      kind,
      name: KINDS[kind].names.button,
      note: KINDS[kind].offer.note,
    })),
  }),
);

/** A kind in words, also as the server lists it. */
export const kindInWords = (kind: string): string => (isPartKind(kind) ? KINDS[kind].names.plain : kind);

/** The parts of a session in one line: 'triangle, then description'. */
export const kindsInWords = (kinds: readonly string[]): string => kinds.map(kindInWords).join(', then ');
