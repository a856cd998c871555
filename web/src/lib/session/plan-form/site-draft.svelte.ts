import type { Site } from '@oddglass/shared/contracts/site.ts';

/** A place of the tasting as it is typed: an empty number is null. */
export class SiteDraft {
  readonly key: number;
  name = $state('');
  assessors = $state<number | null>(null);
  spareSeats = $state<number | null>(null);

  constructor(key: number, from: { [K in keyof Site]: Site[K] | null }) {
    this.key = key;
    this.name = from.name ?? '';
    this.assessors = from.assessors;
    this.spareSeats = from.spareSeats;
  }

  typed(blank?: string): Record<string, unknown> {
    const name = this.name.trim() === '' && blank !== undefined ? `${blank} ${this.key}` : this.name;
    return { name, assessors: this.assessors, spareSeats: this.spareSeats };
  }
}

/** What the places have together; null while one of them says nothing. */
export function sumOfSites(sites: readonly SiteDraft[], of: 'assessors' | 'spareSeats'): number | null {
  return sites.reduce<number | null>((sum, site) => {
    const here = site[of];
    return sum === null || here === null ? null : sum + here;
  }, 0);
}
