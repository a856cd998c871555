import { z } from 'zod';

/** One leaf of the seal: what was fixed, with its own nonce (hex, 256 bits). */
export const sealLeaf = z.object({
  index: z.number().int().min(0),
  kind: z.enum(['settings', 'sample', 'tray', 'seating']),
  nonce: z.string().regex(/^[0-9a-f]{64}$/),
  body: z.record(z.string(), z.unknown()),
});
export type SealLeaf = z.infer<typeof sealLeaf>;

/** The seal as members of the panel see it: root from sealing on, leaves after the reveal. */
export const sealView = z.object({
  root: z.string(),
  fingerprint: z.string(),
  sealedAt: z.string(),
  leaves: z.array(sealLeaf).nullable(),
});
export type SealView = z.infer<typeof sealView>;

/**
 * What a sealed plan asks, opened before anybody tastes: the settings leaf with its path. Samples stand in it by opaque
 * ids, so that it holds no arm, code, seat or person.
 */
export const sealAnnouncement = z.object({
  about: z.string(),
  root: z.string(),
  fingerprint: z.string(),
  sealedAt: z.string(),
  /** Leaves of the whole seal. */
  size: z.number().int().min(1),
  settings: sealLeaf.extend({ proof: z.array(z.string().regex(/^[0-9a-f]{64}$/)) }),
});
export type SealAnnouncement = z.infer<typeof sealAnnouncement>;
