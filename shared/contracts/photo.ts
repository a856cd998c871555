import { z } from 'zod';
import { id, moment } from './common.ts';

/** Photos of one arm at one pull, and of a whole trial; bytes of one. Bounds of our own: the database holds them. */
export const PHOTOS_PER_READING = 6;
export const PHOTOS_PER_TRIAL = 200;
export const PHOTO_BYTES = 400 * 1024;
/** Longest side after it was made smaller on the device, pixels. */
export const PHOTO_SIDE = 1600;

/** A photo of an arm at a pull; the picture itself is at /api/photos/{id}. */
export const photoView = z.object({
  id,
  arm: id,
  bytes: z.number().int(),
  writtenBy: z.string(),
  writtenAt: moment,
});
export type PhotoView = z.infer<typeof photoView>;
