import {
  gravityInstrument,
  gravityUnit,
  temperatureUnit,
  volumeUnit,
  type TypedValues,
} from '../contracts/reading.ts';
import { typedNumber } from '../fermentation/typed-number.ts';
import { csvDay } from './csv-moment.ts';
import type { CsvRow } from './csv-table.ts';

type Cells = CsvRow['cells'];
type Refused = { why: string };

const GRAVITY_UNITS: Readonly<Record<string, string>> = {
  '': 'sg',
  sg: 'sg',
  plato: 'plato',
  '°p': 'plato',
  p: 'plato',
  brix: 'brix',
  '°bx': 'brix',
  bx: 'brix',
};
const VOLUME_UNITS: Readonly<Record<string, string>> = { '': 'mL', ml: 'mL', l: 'L' };

/**
 * The values of a row as if they were typed, or why they cannot be.
 * Example: `typedOf({ gravity: '12', gravity_unit: '°P' }).gravity.text` is 12
 */
export function typedOf(cells: Cells): TypedValues | Refused {
  const gravity = gravityCells(cells);
  if (gravity !== null && 'why' in gravity) return gravity;
  const calibrated = cells.meter_calibrated_on ?? '';
  const calibratedOn = calibrated === '' ? null : csvDay(calibrated);
  if (calibrated !== '' && calibratedOn === null)
    return {
      why: `${calibrated.slice(0, 40)} under meter_calibrated_on is no date. Write it as 2031-03-04.`,
    };
  const degrees = (cells.temperature_unit ?? '').replaceAll(/[°\s]/g, '').toUpperCase() || 'C';
  const temperatureIn = temperatureUnit.safeParse(degrees);
  if (cells.temperature && !temperatureIn.success)
    return { why: `${degrees.slice(0, 20)} is no unit of temperature here. Write C or F.` };
  const volume = volumeUnit.safeParse(VOLUME_UNITS[(cells.taken_unit ?? '').trim().toLowerCase()]);
  if (cells.taken && !volume.success) return { why: 'What was taken is counted in mL or L.' };
  return {
    ph: cells.ph ? { text: cells.ph, meterCalibratedOn: calibratedOn } : null,
    gravity,
    temperature: cells.temperature ? { text: cells.temperature, unit: temperatureIn.data ?? 'C' } : null,
    taken: cells.taken ? { text: cells.taken, unit: volume.data ?? 'mL' } : null,
  };
}

function gravityCells(cells: Cells): TypedValues['gravity'] | Refused {
  if (!cells.gravity) return null;
  const unit = gravityUnit.safeParse(GRAVITY_UNITS[(cells.gravity_unit ?? '').trim().toLowerCase()]);
  if (!unit.success) return { why: 'The unit of gravity is neither sg, plato nor brix.' };
  const instrument = gravityInstrument.safeParse((cells.instrument ?? '').toLowerCase() || 'hydrometer');
  if (!instrument.success) return { why: 'The instrument is neither hydrometer nor refractometer.' };
  const made = number(cells.hydrometer_c) ?? 20;
  // 60 deg F and 15.6 deg C are the same hydrometer.
  const calibratedAtC = made === 20 ? 20 : made === 15.6 || made === 60 || made === 15.56 ? 15.6 : null;
  if (calibratedAtC === null) return { why: 'A hydrometer is made for 20 °C or for 15.6 °C here.' };
  const sampleC = number(cells.sample_c);
  const originalBrix = number(cells.original_brix);
  const wortFactor = number(cells.wort_factor) ?? 1;
  if ([sampleC, originalBrix, wortFactor].some(Number.isNaN))
    return { why: 'sample_c, original_brix or wort_factor is no number.' };
  return {
    text: cells.gravity,
    unit: unit.data,
    instrument: instrument.data,
    sampleC,
    calibratedAtC,
    originalBrix,
    wortFactor,
  };
}

const number = (cell: string | undefined): number | null =>
  cell === undefined || cell === '' ? null : (typedNumber(cell)?.value ?? Number.NaN);
