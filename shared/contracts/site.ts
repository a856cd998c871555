import { z } from 'zod';
import { text } from './common.ts';

/** One of several places at which a sealed plan is poured: its own run of seats, pour list and board. */
export const site = z.object({
  /** Shown to hosts, stewards and whoever sits down there: must not name an arm. Readers get a number in its place. */
  name: text(40),
  /** Expected assessors here, and seats for latecomers beyond them. */
  assessors: z.number().int().min(1, 'At least one assessor.').max(200, 'At most 200 assessors.'),
  spareSeats: z.number().int().min(0).max(100, 'At most 100 spare seats.'),
});
export type Site = z.infer<typeof site>;

/** Left out: one place, and nothing of places shows. */
export const sites = z.array(site).min(2, 'Several places are at least two.').max(8, 'At most eight places.');

/** Number of a place, from 1, in the order of the plan. */
export const siteNumber = z.number().int().min(1).max(8);

/** here: people of this place answer on this server. elsewhere: by its file on another one. joined: their ballots are in. */
export const siteStanding = z.enum(['here', 'elsewhere', 'joined']);
export type SiteStanding = z.infer<typeof siteStanding>;

/** The run of seats of one place, as pages and tablets get it. */
export const siteRun = z.object({
  /** From 1, in the order of the plan. */
  site: siteNumber,
  name: z.string(),
  /** Numbers of its first and last seat. */
  first: z.number().int(),
  last: z.number().int(),
});
export type SiteRun = z.infer<typeof siteRun>;

/** What of the places does not go with the people of the session, with the path of the field. */
export function siteErrors(settings: {
  assessors: number;
  spareSeats: number;
  seatsAtOnce?: number | undefined;
  sites?: readonly Site[] | undefined;
}): { at: (string | number)[]; message: string }[] {
  const { sites: places } = settings;
  if (!places) return [];
  const sum = (of: (place: Site) => number) => places.reduce((total, place) => total + of(place), 0);
  const errors: { at: (string | number)[]; message: string }[] = [];
  const [assessors, spareSeats] = [sum((one) => one.assessors), sum((one) => one.spareSeats)];
  if (assessors !== settings.assessors) {
    errors.push({ at: ['assessors'], message: `The places expect ${assessors} assessors together.` });
  }
  if (spareSeats !== settings.spareSeats) {
    errors.push({ at: ['spareSeats'], message: `The places have ${spareSeats} spare seats together.` });
  }
  if (settings.seatsAtOnce !== undefined) {
    errors.push({
      at: ['seatsAtOnce'],
      message: 'At several places nobody is called in waves: leave one of the two out.',
    });
  }
  const names = places.map(({ name }) => name.toLowerCase());
  for (const [at, name] of names.entries()) {
    if (names.indexOf(name) < at) {
      errors.push({ at: ['sites', at, 'name'], message: 'Another place has this name.' });
    }
  }
  return errors;
}
