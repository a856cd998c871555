import { z } from 'zod';
import { day, optionalText } from './common.ts';

/** What closes a vessel, by how much air it lets in. */
export const closure = z.enum(['airtight', 'airlock', 'porous', 'open']);
export type Closure = z.infer<typeof closure>;

export const cultureForm = z.enum(['dry', 'liquid', 'slurry', 'starter', 'dregs', 'wild', 'none']);
export type CultureForm = z.infer<typeof cultureForm>;

/** What a culture is meant to hold, as far as the trade tells it apart. */
export const organism = z.enum(['yeast', 'brettanomyces', 'lactic-bacteria', 'acetic-bacteria', 'mixed']);
export type Organism = z.infer<typeof organism>;

const amountOf = (what: string, most: number) =>
  z
    .number(`Give ${what}, or leave it unknown.`)
    .min(0, 'An amount cannot be below zero.')
    .max(most, 'That is more than any batch of this kind.');

export const addition = z.object({
  what: optionalText(80),
  /** As it was measured: '20 g', '3 cubes'. */
  amount: optionalText(40),
  on: day.nullable(),
});
export type Addition = z.infer<typeof addition>;

/** How an arm was made. Everything may be unknown, and what is unknown stays so: null, an empty text or an empty list. */
export const armMaking = z.object({
  vessel: optionalText(80).default(''),
  /** To the brim, mL. */
  vesselMl: amountOf('the size of the vessel in millilitres', 10_000_000).nullable().default(null),
  closure: closure.nullable().default(null),
  culture: optionalText(120).default(''),
  cultureForm: cultureForm.nullable().default(null),
  organisms: z
    .array(organism)
    .max(5)
    .refine((list) => new Set(list).size === list.length, 'Name each once.')
    .default([]),
  lot: optionalText(60).default(''),
  bestBefore: day.nullable().default(null),
  pitched: z
    .object({ amount: amountOf('the amount pitched', 1_000_000), unit: z.enum(['mL', 'g']) })
    .nullable()
    .default(null),
  /** Viable cells pitched, in thousand millions. */
  cellsBillion: amountOf('the cells pitched, in thousand millions', 1_000_000).nullable().default(null),
  /** Of the liquid while it fermented, deg C. */
  temperatureC: z
    .number('Give degrees Celsius, or leave it unknown.')
    .min(-10, 'That is frozen.')
    .max(60, 'That is too hot for any culture.')
    .nullable()
    .default(null),
  additions: z
    .array(addition)
    .max(12, 'Twelve additions are kept here; note more as deviations.')
    .default([]),
});
export type ArmMaking = z.infer<typeof armMaking>;

/** What all arms share, told once. */
export const baseMaking = z.object({
  recipe: optionalText(2000).default(''),
  /** Before it fermented: specific gravity, 20 deg C over 20 deg C. */
  originalGravity: z
    .number('Give a specific gravity such as 1.048, or leave it unknown.')
    .min(0.98, 'A specific gravity lies between 0.98 and 1.2; 12 degrees Plato are 1.048.')
    .max(1.2, 'A specific gravity lies between 0.98 and 1.2; 12 degrees Plato are 1.048.')
    .nullable()
    .default(null),
  /** As it was measured and typed; the specific gravity above follows from it. Null: typed as specific gravity, or unknown. */
  originalGravityTyped: z
    .object({
      value: z.number('Give the original gravity, or leave it unknown.'),
      unit: z.enum(['sg', 'plato', 'brix']),
    })
    .refine(
      ({ value, unit }) => (unit === 'sg' ? value >= 0.98 && value <= 1.2 : value >= 0 && value <= 40),
      {
        path: ['value'],
        message:
          'A specific gravity lies between 0.98 and 1.2, degrees Plato or Brix between 0 and 40. Is the unit right?',
      },
    )
    .nullable()
    .default(null),
  batchMl: amountOf('the size of the batch in millilitres', 100_000_000).nullable().default(null),
  hopped: z.boolean().nullable().default(null),
});
export type BaseMaking = z.infer<typeof baseMaking>;

/** The fields of an arm that a comparison looks at, and that a factor may be about. */
export const makingField = z.enum([
  'vessel',
  'vesselMl',
  'closure',
  'culture',
  'cultureForm',
  'organisms',
  'lot',
  'pitched',
  'cellsBillion',
  'temperatureC',
  'additions',
]);
export type MakingField = z.infer<typeof makingField>;
