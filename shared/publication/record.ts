import type { PublishedReading, PublishedRecord } from '../contracts/published-record.ts';
import { checkFairTest, type FairTestInput } from '../fermentation/fair-test/check.ts';
import { COMPARED_FIELDS } from '../fermentation/fair-test/fields.ts';
import {
  dayZero,
  daysBetween,
  isPassable,
  maskedFairTest,
  passedNotes,
  recordTexts,
  type TrialRecord,
} from './record-texts.ts';

/** What the host decides of the record. */
export interface RecordChoice {
  record: TrialRecord;
  /** Free texts that the host passed, word for word. */
  passed: readonly string[];
}

interface Published {
  /** Arms of the publication in its order, under their names for readers. */
  arms: readonly { id: string; name: string }[];
  sessions: readonly { number: number; heldIn: string }[];
}

/**
 * The record as readers get it: arms of the publication only, words that the host passed only, days for dates, and no volume
 * taken, which could tell of a tasting. Of sessions it takes the month that is told anyway.
 */
export function publishedRecord({ record, passed }: RecordChoice, published: Published): PublishedRecord {
  const through = new Set(passed);
  const { arms } = published;
  const zero = dayZero(record);
  const masked = ofArms(maskedFairTest(record.fairTest, record, through), arms);
  const readings = readingsTold(record, arms, { through, zero });
  return {
    since: record.pitchedAt === null ? 'first-note' : 'pitching',
    base: baseLines(record, through),
    making: makingLines(record, masked),
    findings: checkFairTest(masked).map(({ kind, says, matters, source, undoes, answered }) => ({
      kind,
      // A date here, beside days of readings, would tell the day of every reading.
      says: says.replace(/, noted for \d{4}-\d{2}-\d{2}/, ''),
      matters,
      source,
      undoes,
      answer: answered?.answer ?? null,
    })),
    readings,
    read: arms.map(({ name }) => countOf(readings, name)),
    tastings:
      zero === null
        ? []
        : published.sessions.map(({ number, heldIn }) => ({
            session: number,
            months: monthOf(heldIn) - monthOf(zero),
          })),
    leftOut: leftOut(record, arms, through),
  };
}

/** Months since year 0. */
const monthOf = (moment: string): number => Number(moment.slice(0, 4)) * 12 + Number(moment.slice(5, 7));

/** The check's arms in the order and by the names of the publication. */
function ofArms(fairTest: FairTestInput, arms: Published['arms']): FairTestInput {
  return {
    ...fairTest,
    arms: arms.flatMap(({ id, name }) => {
      const arm = fairTest.arms.find((one) => one.id === id);
      return arm ? [{ ...arm, name }] : [];
    }),
  };
}

function baseLines({ base, making }: TrialRecord, through: ReadonlySet<string>): PublishedRecord['base'] {
  const words = (text: string): string => (through.has(text) && isPassable(text) ? text : '');
  const { originalGravity, batchMl, hopped } = making;
  return [
    { label: 'shared base', value: words(base) },
    { label: 'recipe notes', value: words(making.recipe) },
    { label: 'original gravity', value: originalGravity === null ? '' : `SG ${originalGravity.toFixed(4)}` },
    { label: 'size of the batch', value: batchMl === null ? '' : `${batchMl} mL` },
    { label: 'hops', value: hopped === null ? '' : hopped ? 'hopped' : 'without hops' },
  ].filter(({ value }) => value !== '');
}

function makingLines(record: TrialRecord, { arms, factorFields }: FairTestInput): PublishedRecord['making'] {
  const lines = COMPARED_FIELDS.map(({ field, label, told, same }): PublishedRecord['making'][number] => {
    const values = arms.map(({ making }) => told(making));
    const known = arms.filter((_, at) => values[at] !== null);
    const [first] = known;
    const differs =
      (first !== undefined && known.some(({ making }) => !same(first.making, making))) ||
      (field === 'additions' && known.length > 0 && known.length < arms.length);
    const standing = factorFields.includes(field) ? 'factor' : differs ? 'differs' : 'same';
    return { field, label, standing, values };
  });
  const abv = arms.map(({ id }) => record.abv.get(id) ?? null);
  const alcohol = {
    field: 'abv',
    label: 'alcohol, as noted',
    standing: 'same' as const,
    values: abv.map((value) => (value === null ? null : `${value} % by volume`)),
  };
  return [...lines, alcohol].filter(({ values }) => values.some((value) => value !== null));
}

function readingsTold(
  record: TrialRecord,
  arms: Published['arms'],
  { through, zero }: { through: ReadonlySet<string>; zero: string | null },
): PublishedReading[] {
  return arms.flatMap(({ id, name }) =>
    record.readings
      .filter(({ armId }) => armId === id)
      .sort((a, b) => Date.parse(a.takenAt) - Date.parse(b.takenAt))
      .map((reading) => ({
        arm: name,
        day: daysBetween(zero ?? reading.takenAt, reading.takenAt),
        pull: reading.planned ? ('planned' as const) : ('unplanned' as const),
        ph: reading.ph,
        gravity: reading.gravity,
        temperatureC: reading.temperatureC,
        notes: passedNotes(reading, through),
      }))
      .filter(
        ({ ph, gravity, temperatureC, notes }) =>
          notes !== '' || [ph, gravity, temperatureC].some((value) => value !== null),
      ),
  );
}

function countOf(readings: readonly PublishedReading[], arm: string): PublishedRecord['read'][number] {
  const own = readings.filter((one) => one.arm === arm);
  const with_ = (key: 'ph' | 'gravity' | 'temperatureC'): number =>
    own.filter((one) => one[key] !== null).length;
  return {
    arm,
    readings: own.length,
    ph: with_('ph'),
    gravity: with_('gravity'),
    temperatureC: with_('temperatureC'),
  };
}

function leftOut(
  record: TrialRecord,
  arms: Published['arms'],
  through: ReadonlySet<string>,
): PublishedRecord['leftOut'] {
  const texts = recordTexts(record, new Map(arms.map(({ id, name }) => [id, name])));
  const kept = texts.filter(({ text }) => !through.has(text) || !isPassable(text));
  const words = kept.filter(({ note }) => !note).length;
  const notes = kept.length - words;
  const some = (count: number, noun: string): string => `${count} ${noun}${count === 1 ? '' : 's'}`;
  return [
    'Dates, who pitched, poured or read, volumes taken, photos and names of pulls are left out. Values that were corrected are left out: the ones that stand are told.',
    ...(words > 0
      ? [
          `The host left out ${some(words, 'text')} of how the arms were made; where they differ between arms, each has a letter.`,
        ]
      : []),
    ...(notes > 0 ? [`The host left out ${some(notes, 'note')} of recipe and readings.`] : []),
  ];
}
