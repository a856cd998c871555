import { z } from 'zod';
import { id } from './common.ts';

/** How people answer who are not there: everything that decides it, so that a rehearsal can be had again. */
export const simulation = z.object({
  /** How many sit down. */
  people: z.number().int().min(1, 'At least one person.').max(200, 'At most 200 people.'),
  /** How far apart arms lie that a part names one after the other, in standard deviations of perceptual noise. */
  dPrime: z.number().min(0, 'From 0.').max(6, 'At most 6.'),
  /** Attributes whose size is set by itself, in units of their scale from one arm to the next; the others follow d-prime. */
  attributeSteps: z
    .record(z.string().regex(/^[a-z][a-z0-9-]{0,40}$/), z.number().min(-100).max(100))
    .refine((steps) => Object.keys(steps).length <= 80, 'At most eighty attributes.')
    .default({}),
  /** How much stronger the first cup seems (below 0: the last one) than it is, in the same units as d-prime. */
  positionBias: z.number().min(-3, 'From −3.').max(3, 'At most 3.'),
  /** Share of answers given at random, 0 to 1. */
  careless: z.number().min(0, 'From 0.').max(1, 'At most all.'),
  /** Share of people who leave before they are done, and after how many answers at least and at most. */
  leaving: z
    .object({
      share: z.number().min(0, 'From 0.').max(1, 'At most all.'),
      from: z.number().int().min(0).max(160),
      to: z.number().int().min(0).max(160),
    })
    .refine(({ from, to }) => from <= to, { path: ['to'], message: 'Not before the first of the two.' }),
  /** People who sit down in a minute; null: everybody at once. */
  pace: z.number().min(1, 'At least one a minute.').max(600, 'At most 600 a minute.').nullable(),
  /** Where their luck comes from: 16 hex digits. */
  seed: z.string().regex(/^[0-9a-f]{16}$/, 'Sixteen digits and letters from a to f.'),
});
export type Simulation = z.infer<typeof simulation>;

/** What is asked of a host; without a seed one is drawn. */
export const rehearsalInput = simulation.partial({ seed: true });
export type RehearsalInput = z.infer<typeof rehearsalInput>;

/**
 * ready: nobody has played yet. interrupted: the server ended while people played; those in the middle of it have left.
 * stopped: a host stopped it, or the tasting went on without it.
 */
export const playState = z.enum(['ready', 'playing', 'stopped', 'interrupted', 'played']);
export type PlayState = z.infer<typeof playState>;

/** What is kept with a session that is a rehearsal. That it was interrupted nobody can write down. */
export interface RehearsalRecord {
  simulation: Simulation;
  play: Exclude<PlayState, 'interrupted'>;
}

/** A rehearsal as host and steward see it: what was put in. Nothing of it is about a cup. */
export const rehearsalView = z.object({
  sessionId: id,
  simulation,
  play: playState,
  /** May whoever asks start and stop the simulated people now? */
  mayPlay: z.boolean(),
});
export type RehearsalView = z.infer<typeof rehearsalView>;
