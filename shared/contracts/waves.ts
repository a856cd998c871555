import { z } from 'zod';

/** How a tasting in waves stands. Left out everywhere where all sit down at once. */
export const waves = z.object({
  /** Seats of one wave; the last one may have fewer. */
  seatsAtOnce: z.number().int().min(1),
  /** All seats, spare ones too. */
  seats: z.number().int().min(1),
  /** The wave that was called last, from 1; 0 before the tasting is opened. */
  called: z.number().int().min(0),
});
export type Waves = z.infer<typeof waves>;

/** Calls a wave by its number, so that two who call at once call one. */
export const callWaveInput = z.object({ wave: z.number().int().min(2).max(300) });
export type CallWaveInput = z.infer<typeof callWaveInput>;
