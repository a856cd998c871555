import type { SessionSettings } from '../contracts/session.ts';
import type { SiteRun } from '../contracts/site.ts';

/** The run of seats of one place. */
export interface SiteSeats extends SiteRun {
  /** Expected assessors: the seats behind them are its spare ones. */
  assessors: number;
}

type Seated = Pick<SessionSettings, 'assessors' | 'spareSeats' | 'sites'>;

/** The places of a session with their seats, numbered through; empty where it is held at one place. */
export function sitesOf({ sites = [] }: Pick<Seated, 'sites'>): SiteSeats[] {
  let before = 0;
  return sites.map(({ name, assessors, spareSeats }, at) => {
    const first = before + 1;
    before += assessors + spareSeats;
    return { site: at + 1, name, first, last: before, assessors };
  });
}

/** The same for pages and tablets; nothing where the session is held at one place, so that it can be spread. */
export function runsOf(settings: Pick<Seated, 'sites'>): { sites?: SiteRun[] } {
  const runs = sitesOf(settings).map(({ site, name, first, last }) => ({ site, name, first, last }));
  return runs.length === 0 ? {} : { sites: runs };
}

/** The place of a seat, from 1; null where there is one place, and for a number that no seat has. */
export function siteOfSeat(settings: Pick<Seated, 'sites'>, seat: number): number | null {
  return sitesOf(settings).find(({ first, last }) => seat >= first && seat <= last)?.site ?? null;
}

/** Numbers of the seats of a place, in order; of the session where it is held at one place and `site` is null. */
export function seatsOfSite(settings: Seated, site: number | null): number[] {
  const run =
    site === null
      ? { first: 1, last: settings.assessors + settings.spareSeats }
      : sitesOf(settings).find((one) => one.site === site);
  return run ? Array.from({ length: run.last - run.first + 1 }, (_, at) => run.first + at) : [];
}

/** Is this a seat kept for latecomers? They stand at the end of the run of their place. */
export function isSpareSeat(settings: Seated, seat: number): boolean {
  const run = sitesOf(settings).find(({ first, last }) => seat >= first && seat <= last);
  return run ? seat >= run.first + run.assessors : seat > settings.assessors;
}

/**
 * Seats that are dealt together, in order: those of each place, or all of them. `spare` counts the seats for latecomers in.
 * Example: `groupsOf({ assessors: 12, spareSeats: 2 }, { spare: true })` is `[14]`
 */
export function groupsOf({ assessors, spareSeats, sites }: Seated, { spare }: { spare: boolean }): number[] {
  return (sites ?? [{ assessors, spareSeats }]).map((one) => one.assessors + (spare ? one.spareSeats : 0));
}
