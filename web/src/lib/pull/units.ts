import { day } from '@oddglass/shared/contracts/common.ts';
import {
  gravityInstrument,
  gravityUnit,
  temperatureUnit,
  volumeUnit,
} from '@oddglass/shared/contracts/reading.ts';
import { recall, remember } from '#lib/seat/keep/device-store.ts';
import { z } from 'zod';

const KEY = 'oddglass.units';

/** How the person at this device measures: kept on the device, sent with every reading. */
export const units = z.object({
  gravity: gravityUnit.default('sg'),
  instrument: gravityInstrument.default('hydrometer'),
  hydrometerC: z.union([z.literal(20), z.literal(15.6)]).default(20),
  wortFactor: z.number().min(0.9).max(1.2).default(1),
  temperature: temperatureUnit.default('C'),
  volume: volumeUnit.default('mL'),
  meterCalibratedOn: day.nullable().default(null),
});
export type Units = z.infer<typeof units>;

export function recallUnits(): Units {
  try {
    return units.parse(JSON.parse(recall(KEY) ?? '{}'));
  } catch {
    return units.parse({});
  }
}
export const rememberUnits = (value: Units): boolean => remember(KEY, JSON.stringify(value));

export const GRAVITY_WORDS = { sg: 'SG', plato: '°P', brix: '°Bx' } as const;

/** The mark that people here put before decimals. */
export const decimalMark = (): '.' | ',' =>
  new Intl.NumberFormat().formatToParts(1.5).find(({ type }) => type === 'decimal')?.value === ','
    ? ','
    : '.';
