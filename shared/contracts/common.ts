import { z } from 'zod';

/** Random UUID (version 4). Ids carry no time and no order. */
export const id = z.uuid();
/** Moment in UTC, ISO 8601. */
export const moment = z.iso.datetime();
/** Calendar day, YYYY-MM-DD. */
export const day = z.iso.date();

// PostgreSQL text cannot hold NUL; other control characters and lone surrogates never belong in a label.
const printable = /^(?:\P{Cc}|[\n\r\t])*$/u;
const isPrintable = (value: string): boolean => value.isWellFormed() && printable.test(value);

/** One line or paragraph of text that must be there: trimmed, NFC, 1 to `max` characters. */
export const text = (max: number) =>
  z
    .string()
    .trim()
    .normalize()
    .min(1, 'Fill this in.')
    .max(max, `Keep this to ${max} characters.`)
    .refine(isPrintable, 'Remove the control characters.');

/** Text that may be empty. */
export const optionalText = (max: number) =>
  z
    .string()
    .trim()
    .normalize()
    .max(max, `Keep this to ${max} characters.`)
    .refine(isPrintable, 'Remove the control characters.');

/** Address of a page. Of the web alone: it becomes a link, and other schemes run code or leave the browser. */
export const webAddress = z
  .url({ protocol: /^https?$/, error: 'This is no address of a web page.' })
  .max(500, 'Keep this to 500 characters.');

/** A bearer token in a link: 128 bits or more, base64url. */
export const token = z.string().regex(/^[A-Za-z0-9_-]{22,64}$/, 'This link is not complete.');

/** Three digits on a cup. */
export const code = z.string().regex(/^[1-9]\d{2}$/, 'A code has three digits.');

/** An answer without content. */
export const done = z.object({ ok: z.literal(true) });
export type Done = z.infer<typeof done>;

/** Allergen groups as EU Regulation 1169/2011 Annex II names them, and fruit (asked for by the trade; not in Annex II). */
export const allergen = z.enum([
  'gluten',
  'sulphites',
  'milk',
  'nuts',
  'peanuts',
  'soya',
  'sesame',
  'egg',
  'fish',
  'crustaceans',
  'molluscs',
  'mustard',
  'celery',
  'lupin',
  'fruit',
]);
export type Allergen = z.infer<typeof allergen>;
