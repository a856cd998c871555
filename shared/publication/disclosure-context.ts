import type { DisclosureTier, OrderCount } from '../contracts/publication.ts';
import type { PartResult } from '../contracts/result.ts';
import type { Protections, Withheld } from './disclosure.ts';

/** What decides how much of a part is told. */
export interface DisclosureContext {
  tier: DisclosureTier;
  protections: Protections;
  /** Words, as shown, that fewer than three people of the part gave. */
  rare: ReadonlySet<string>;
  /** Are single answers published? What follows from them is then told. */
  rowsTold: boolean;
  /** Grows by what is withheld. */
  withheld: Withheld;
}

export interface DisclosedPart {
  part: PartResult;
  orders: OrderCount[];
}
