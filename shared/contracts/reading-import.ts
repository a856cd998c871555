import { z } from 'zod';
import { optionalText } from './common.ts';
import { trialPulls } from './pull.ts';

/** Characters of a file; some thousand rows. */
export const MAX_CSV = 400_000;

/** A file as it was read on the device, after its preview was seen. */
export const csvImport = z.object({
  csv: z
    .string()
    .min(1, 'The file is empty.')
    .max(MAX_CSV, 'Split the file: it is longer than 400,000 characters.'),
  /** When the preview was made: times without a zone are read in this one, minutes east of UTC. */
  minutesEast: z.number().int().min(-840).max(840),
});
export type CsvImport = z.infer<typeof csvImport>;

export const csvImported = z.object({
  /** Rows that became readings, rows that were there already, and lines that were refused. */
  added: z.number().int(),
  there: z.number().int(),
  refused: z.array(z.object({ line: z.number().int(), why: optionalText(1000) })),
  pulls: trialPulls,
});
export type CsvImported = z.infer<typeof csvImported>;
