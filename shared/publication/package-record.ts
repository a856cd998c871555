import type { Publication } from '../contracts/publication.ts';
import type { PublishedRecord } from '../contracts/published-record.ts';
import type { Field, Table } from './package-fields.ts';

const text = (name: string, description: string, constraints?: Field['constraints']): Field => ({
  name,
  type: 'string',
  description,
  ...(constraints && { constraints }),
});
const value = (name: string, description: string, unit: string): Field => ({
  name,
  type: 'number',
  description,
  unit,
});
const ofArm = { fields: ['arm'], resource: 'arms', to: ['arm'] };

const MAKING: readonly Field[] = [
  text('what', 'What is told: a field of an arm, something all arms share, or what was left out.', {
    required: true,
  }),
  text('arm', 'Name of the arm; empty for what all arms share.'),
  text('value', 'What is known, in words; empty: unknown.'),
  text('standing', 'Of a field: the factor, a difference besides it, or none. Empty for the others.', {
    enum: ['factor', 'differs', 'same'],
  }),
];
const READINGS: readonly Field[] = [
  text('arm', 'Name of the arm.', { required: true }),
  {
    name: 'day',
    type: 'integer',
    description: 'Whole days since day 0; below zero: before it. What day 0 is, stands in making.csv.',
    unit: 'days',
    constraints: { required: true },
  },
  text('pull', 'Was the sample taken as planned beforehand, or in between?', {
    required: true,
    enum: ['planned', 'unplanned'],
  }),
  value('ph', 'pH; empty: not read.', 'pH'),
  value(
    'gravity',
    'Specific gravity, 20 °C over 20 °C, as it was stored; by hydrometer the apparent one. Empty: not read.',
    'SG',
  ),
  value('temperatureC', 'Temperature of the liquid; empty: not read.', '°C'),
  text('notes', 'What was noted beside, as far as the host let it through.'),
];
const FINDINGS: readonly Field[] = [
  text('kind', 'A sign of something, a difference besides the factor, or what nobody told.', {
    required: true,
    enum: ['sign', 'difference', 'unknown'],
  }),
  text('says', 'What is known.', { required: true }),
  text('matters', 'What it may do to the comparison.'),
  text('source', 'Where that is from.'),
  text('undoes', 'Why the factor may not be what was compared; empty where it may.'),
  text('answer', 'What the host says to it; empty: nothing.'),
];
const TASTINGS: readonly Field[] = [
  {
    name: 'session',
    type: 'integer',
    description: 'Running number of the session within this publication.',
    constraints: { required: true, minimum: 1 },
  },
  {
    name: 'months',
    type: 'integer',
    description: 'Calendar months from that of day 0 to that of the tasting. Its day is not told.',
    unit: 'months',
    constraints: { required: true },
  },
];

/** Tables of how the arms were made and what was read of them; those without a row are left out, all where it is not told. */
export function recordTables({ record, arms }: Publication): Table[] {
  if (!record) return [];
  const names = arms.map(({ name }) => name);
  const tables: Table[] = [
    {
      name: 'making',
      description: 'How the arms were made, field by field and arm by arm, and what all of them share.',
      fields: MAKING,
      primaryKey: null,
      foreignKeys: [],
      rows: makingRows(record, names),
    },
    {
      name: 'fair-test',
      description: 'What stands between the arms besides the factor, or is unknown; the gravest first.',
      fields: FINDINGS,
      primaryKey: null,
      foreignKeys: [],
      rows: record.findings.map((row) => ({ ...row })),
    },
    {
      name: 'readings',
      description: 'What instruments read of each arm over time. Nobody tasted these values.',
      fields: READINGS,
      primaryKey: null,
      foreignKeys: [ofArm],
      rows: record.readings.map((row) => ({ ...row })),
    },
    {
      name: 'tastings',
      description: 'When each session was tasted beside the readings, no nearer than its month.',
      fields: TASTINGS,
      primaryKey: ['session'],
      foreignKeys: [{ fields: ['session'], resource: 'sessions', to: ['session'] }],
      rows: record.tastings.map((row) => ({ ...row })),
    },
  ];
  return tables.filter(({ rows }) => rows.length > 0);
}

function makingRows(record: PublishedRecord, names: readonly string[]): Table['rows'] {
  const shared = (what: string, told: string) => ({ what, arm: null, value: told, standing: null });
  return [
    shared('day 0', record.since),
    ...record.base.map(({ label, value: told }) => shared(label, told)),
    ...record.making.flatMap(({ field, standing, values }) =>
      names.map((arm, at) => ({ what: field, arm, value: values[at] ?? null, standing })),
    ),
    ...record.leftOut.map((sentence) => shared('left out', sentence)),
  ];
}
