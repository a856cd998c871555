import { equal, type Check, type Document, type RecordOf } from './verify-format.ts';

// The verifier's reading of how the arms were made and what was read of them (verify.ts): its tables, and what can be counted
// again. What it cannot see: whether somebody read the values so.

type Value = string | number | null;

/** Rows that the tables of the record must have; none where it is not told. */
export function recordRows({ record, arms }: Document): Record<string, Value[][]> {
  if (!record) return {};
  const wanted = {
    making: [
      ['day 0', null, record.since, null],
      ...record.base.map(({ label, value }) => [label, null, value, null]),
      ...record.making.flatMap(({ field, standing, values }) =>
        arms.map(({ name }, at) => [field, name, values[at] ?? null, standing]),
      ),
      ...record.leftOut.map((one) => ['left out', null, one, null]),
    ],
    'fair-test': record.findings.map((one) => [
      one.kind,
      one.says,
      one.matters,
      one.source,
      one.undoes,
      one.answer,
    ]),
    readings: record.readings.map((one) => [
      one.arm,
      one.day,
      one.pull,
      one.ph,
      one.gravity,
      one.temperatureC,
      one.notes,
    ]),
    tastings: record.tastings.map(({ session, months }) => [session, months]),
  };
  return Object.fromEntries(Object.entries(wanted).filter(([, rows]) => rows.length > 0));
}

/** Counts, arms, order and months of the record, held against each other and against the sessions. */
export function checkRecord({ record, arms, sessions }: Document): Check[] {
  if (!record) return [];
  const { readings, making, tastings } = record;
  const names = arms.map(({ name }) => name);
  const counted = names.map((arm) => {
    const own = readings.filter((one) => one.arm === arm);
    const read = (key: 'ph' | 'gravity' | 'temperatureC') => own.filter((one) => one[key] !== null).length;
    return {
      arm,
      readings: own.length,
      ph: read('ph'),
      gravity: read('gravity'),
      temperatureC: read('temperatureC'),
    };
  });
  const places = readings.map(({ arm, day }) => ({ at: names.indexOf(arm), day }));
  const unsorted = places.filter(({ at, day }, i) => {
    const before = places[i - 1];
    return before !== undefined && (at < before.at || (at === before.at && day < before.day));
  });
  return [
    equal('readings by arm, counted again', counted, record.read),
    equal(
      'readings of arms that there are',
      places.filter(({ at }) => at < 0),
      [],
    ),
    equal('readings by arm and day', unsorted, []),
    ...making.flatMap(({ field, standing, values }) => [
      equal(`arms that ${field} is told of`, values.length, names.length),
      equal(`${field}: what is said to differ differs`, standing !== 'differs' || differs(values), true),
    ]),
    ...monthsOf(tastings, sessions),
  ];
}

const differs = (values: readonly (string | null)[]): boolean =>
  new Set(values.map((one) => one?.toLowerCase())).size > 1;

/** Every session once, and all of them counted from the same month. */
function monthsOf(tastings: RecordOf['tastings'], sessions: Document['sessions']): Check[] {
  if (tastings.length === 0) return [];
  const zero = ({ session, months }: RecordOf['tastings'][number]): number => {
    const held = String(sessions.find(({ number }) => number === session)?.['heldIn']);
    return Number(held.slice(0, 4)) * 12 + Number(held.slice(5, 7)) - months;
  };
  const numbers = sessions.map(({ number }) => number);
  return [
    equal(
      'sessions beside the readings',
      tastings.map(({ session }) => session),
      numbers,
    ),
    equal('months in which the readings begin, by session', new Set(tastings.map(zero)).size, 1),
  ];
}
