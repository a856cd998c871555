import { z } from 'zod';
import { moment, optionalText } from './common.ts';

/** What happens to the liquid of an arm. `counted` says what is there, whatever was noted before. */
export const liquidKind = z.enum(['filled', 'added', 'counted', 'loss', 'pull', 'poured']);
export type LiquidKind = z.infer<typeof liquidKind>;

/** What a host notes by hand; pulls and tastings note themselves. */
export const liquidInput = z.object({
  kind: z.enum(['added', 'counted', 'loss']),
  ml: z
    .number('Give millilitres.')
    .min(0, 'A volume cannot be below zero.')
    .max(10_000_000, 'That is more than ten cubic metres.'),
  note: optionalText(200).default(''),
});
export type LiquidInput = z.infer<typeof liquidInput>;

export const liquidLine = z.object({
  kind: liquidKind,
  ml: z.number(),
  at: moment,
  /** What was noted beside it, or what it was for. */
  note: z.string(),
  leftMl: z.number(),
});
export type LiquidLine = z.infer<typeof liquidLine>;

/** The ledger of one arm. */
export const liquidView = z.object({
  /** Below zero: more was taken than was there, so that something was noted wrongly. */
  leftMl: z.number(),
  /** Held back for tastings that are sealed and not yet revealed. */
  reservedMl: z.number(),
  /** Of the vessel, above the liquid; null where its size is unknown. */
  headspaceMl: z.number().nullable(),
  /** Oldest first. */
  lines: z.array(liquidLine),
});
export type LiquidView = z.infer<typeof liquidView>;
