import { id } from '@oddglass/shared/contracts/common.ts';
import {
  confirmation,
  readingInput,
  type ReadingInput,
  type ReadingView,
  type TypedValues,
} from '@oddglass/shared/contracts/reading.ts';
import { typedNumber } from '@oddglass/shared/fermentation/typed-number.ts';
import { z } from 'zod';
import { units, type Units } from './units.ts';

/** What stands in the fields of one arm. The id is made once, so that sending it again counts once. */
export const readingDraft = z.object({
  id,
  replaces: id.nullable(),
  ph: z.string(),
  gravity: z.string(),
  /** Temperature of the hydrometer's sample, deg C, as typed. */
  sample: z.string(),
  originalBrix: z.string(),
  temperature: z.string(),
  taken: z.string(),
  added: z.string(),
  looks: z.string(),
  smell: z.string(),
  note: z.string(),
  confirmed: z.array(confirmation),
  /** How this arm was measured: a draft keeps the units in which it was typed. */
  how: units,
});
export type ReadingDraft = z.infer<typeof readingDraft>;
export type PadField = 'ph' | 'gravity' | 'sample' | 'originalBrix' | 'temperature' | 'taken';
export type WordField = 'added' | 'looks' | 'smell' | 'note';

/** What a device keeps of one pull until the server has it. */
export const keptPull = z.object({
  trial: id,
  pull: id,
  name: z.string(),
  drafts: z.record(id, readingDraft),
  /** Sent, and not acknowledged: these are not edited any more. */
  waiting: z.array(z.object({ arm: id, reading: readingInput, refused: z.string().nullable() })),
  units,
});
export type KeptPull = z.infer<typeof keptPull>;

export const emptyDraft = (newId: string, how: Units): ReadingDraft => ({
  how,
  id: newId,
  replaces: null,
  ph: '',
  gravity: '',
  sample: '',
  originalBrix: '',
  temperature: '',
  taken: '',
  added: '',
  looks: '',
  smell: '',
  note: '',
  confirmed: [],
});

type Values = Pick<ReadingView, 'typed' | 'added' | 'looks' | 'smell' | 'note'>;

/** A draft that starts from a reading, in the units in which that was typed. */
export function draftOf(
  { typed, added, looks, smell, note }: Values,
  newId: string,
  replaces: string | null,
  here: Units,
): ReadingDraft {
  const { ph, gravity, temperature, taken } = typed;
  return {
    ...emptyDraft(newId, {
      gravity: gravity?.unit ?? here.gravity,
      instrument: gravity?.instrument ?? here.instrument,
      hydrometerC: gravity?.calibratedAtC ?? here.hydrometerC,
      wortFactor: gravity?.wortFactor ?? here.wortFactor,
      temperature: temperature?.unit ?? here.temperature,
      volume: taken?.unit ?? here.volume,
      meterCalibratedOn: ph ? ph.meterCalibratedOn : here.meterCalibratedOn,
    }),
    replaces,
    ph: ph?.text ?? '',
    gravity: gravity?.text ?? '',
    sample: gravity?.sampleC?.toString() ?? '',
    originalBrix: gravity?.originalBrix?.toString() ?? '',
    temperature: temperature?.text ?? '',
    taken: taken?.text ?? '',
    added,
    looks,
    smell,
    note,
  };
}

const numberOf = (text: string): number | null => typedNumber(text)?.value ?? null;

export function typedOf(draft: ReadingDraft): TypedValues {
  const { instrument, gravity, ...how } = draft.how;
  const text = (field: PadField): string => draft[field].trim();
  return {
    ph: text('ph') === '' ? null : { text: text('ph'), meterCalibratedOn: how.meterCalibratedOn },
    gravity:
      text('gravity') === ''
        ? null
        : {
            text: text('gravity'),
            unit: gravity,
            instrument,
            sampleC: instrument === 'hydrometer' ? numberOf(draft.sample) : null,
            calibratedAtC: how.hydrometerC,
            originalBrix: instrument === 'refractometer' ? numberOf(draft.originalBrix) : null,
            wortFactor: how.wortFactor,
          },
    temperature: text('temperature') === '' ? null : { text: text('temperature'), unit: how.temperature },
    taken: text('taken') === '' ? null : { text: text('taken'), unit: how.volume },
  };
}

/** Something is read or noted: it can be sent. */
export const isBegun = (draft: ReadingDraft): boolean =>
  [
    draft.ph,
    draft.gravity,
    draft.temperature,
    draft.taken,
    draft.added,
    draft.looks,
    draft.smell,
    draft.note,
  ].some((text) => text.trim() !== '');

/** What is sent; zod's error when a text is too long, or a number out of any bound. */
export const readingOf = (draft: ReadingDraft, takenAt: string) =>
  readingInput.safeParse({
    id: draft.id,
    replaces: draft.replaces,
    takenAt,
    typed: typedOf(draft),
    added: draft.added,
    looks: draft.looks,
    smell: draft.smell,
    note: draft.note,
    confirmed: draft.confirmed,
  } satisfies ReadingInput);
