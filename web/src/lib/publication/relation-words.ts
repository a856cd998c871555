import type { Relation } from '@oddglass/shared/contracts/deposit.ts';

/** How another work stands to this one, as a host chooses it. */
export const RELATION_WORDS: Readonly<Record<Relation, string>> = {
  References: 'this one refers to it',
  IsSupplementTo: 'this one is a supplement to it',
  IsDerivedFrom: 'this one is made from it',
  Continues: 'this one carries it on',
  IsPartOf: 'this one is part of it',
  IsDocumentedBy: 'it tells of this one',
};
