import { z } from 'zod';
import { day, id, moment, optionalText, text } from './common.ts';

/** A number as somebody typed it: '4,2', '1.048', '1 500'. What it means is read by `fermentation/typed-number.ts`. */
const typed = text(40);

export const gravityUnit = z.enum(['sg', 'plato', 'brix']);
export type GravityUnit = z.infer<typeof gravityUnit>;
export const gravityInstrument = z.enum(['hydrometer', 'refractometer']);
export type GravityInstrument = z.infer<typeof gravityInstrument>;
export const temperatureUnit = z.enum(['C', 'F']);
export type TemperatureUnit = z.infer<typeof temperatureUnit>;
export const volumeUnit = z.enum(['mL', 'L']);
export type VolumeUnit = z.infer<typeof volumeUnit>;

export const typedPh = z.object({
  text: typed,
  /** The day on which the meter was last calibrated; null: not known. */
  meterCalibratedOn: day.nullable(),
});

export const typedGravity = z.object({
  text: typed,
  unit: gravityUnit,
  instrument: gravityInstrument,
  /** Temperature of the sample in the hydrometer's jar, deg C; null: at the hydrometer's own temperature. */
  sampleC: z.number().min(-10).max(110).nullable(),
  /** What the hydrometer was made for, deg C: 20, or 15.6 (60 deg F). */
  calibratedAtC: z.union([z.literal(20), z.literal(15.6)]),
  /** Refractometer: degrees Brix of this arm before it fermented; null: not fermented, or not known. */
  originalBrix: z.number().min(0).max(40).nullable(),
  /** Refractometer: what its reading is divided by, measured for wort; 1 where nobody measured it. */
  wortFactor: z.number().min(0.9).max(1.2),
});
export type TypedGravity = z.infer<typeof typedGravity>;

export const typedTemperature = z.object({ text: typed, unit: temperatureUnit });
export const typedVolume = z.object({ text: typed, unit: volumeUnit });

/** What was typed, and in which unit; null: not read. */
export const typedValues = z.object({
  ph: typedPh.nullable(),
  gravity: typedGravity.nullable(),
  temperature: typedTemperature.nullable(),
  taken: typedVolume.nullable(),
});
export type TypedValues = z.infer<typeof typedValues>;

/** What may seem odd of a value (`fermentation/plausible.ts`). */
export const questionName = z.enum([
  'ph-outside',
  'ph-jump',
  'ph-meter-old',
  'gravity-outside',
  'gravity-no-conversion',
  'gravity-rises',
  'refractometer-alcohol',
  'temperature-outside',
  'taken-more-than-left',
  'number-two-ways',
  'taken-in-future',
]);
export type QuestionName = z.infer<typeof questionName>;

/** A question that was asked, and that somebody kept the value nevertheless. */
export const confirmation = z.object({ question: questionName, asked: text(300) });
export type Confirmation = z.infer<typeof confirmation>;

export const readingInput = z
  .object({
    /** Made by the device: sending it twice counts once. */
    id,
    /** The reading that this one puts right; null for the first one of the arm at this pull. */
    replaces: id.nullable(),
    /** When the sample was taken. */
    takenAt: moment,
    typed: typedValues,
    /** What was added to the arm. */
    added: optionalText(300),
    looks: optionalText(300),
    smell: optionalText(300),
    note: optionalText(500),
    confirmed: z.array(confirmation).max(12),
  })
  .refine(
    ({ typed: { ph, gravity, temperature, taken }, added, looks, smell, note }) =>
      [ph, gravity, temperature, taken].some((value) => value !== null) ||
      [added, looks, smell, note].some((words) => words !== ''),
    'Read or note something first.',
  );
export type ReadingInput = z.infer<typeof readingInput>;

/** The same values in the units in which they are counted; null: not read, or not to be converted. */
export const readingValues = z.object({
  ph: z.number().nullable(),
  meterCalibratedOn: day.nullable(),
  /** Specific gravity, 20 deg C over 20 deg C; by hydrometer the apparent one. */
  gravity: z.number().nullable(),
  temperatureC: z.number().nullable(),
  takenMl: z.number().nullable(),
});
export type ReadingValues = z.infer<typeof readingValues>;

/** One row of the notebook: an arm at a pull. Never edited; a correction is a row of its own. */
export const readingView = readingValues.extend({
  id,
  arm: id,
  replaces: id.nullable(),
  /** No later row replaces this one. */
  current: z.boolean(),
  takenAt: moment,
  typed: typedValues,
  added: z.string(),
  looks: z.string(),
  smell: z.string(),
  note: z.string(),
  confirmed: z.array(confirmation),
  writtenBy: z.string(),
  writtenAt: moment,
});
export type ReadingView = z.infer<typeof readingView>;
