import type { Cell } from '../export/csv.ts';
import { PART_KINDS } from '../kinds/kinds.ts';
import { REPORT_ITEMS } from './report.ts';

/** A field of a Table Schema; `unit` is our own property, which the standard allows. */
export interface Field {
  name: string;
  type: 'string' | 'integer' | 'number' | 'yearmonth' | 'object' | 'array';
  description: string;
  unit?: string;
  constraints?: { required?: true; minimum?: number; pattern?: string; enum?: readonly string[] };
}

export type Row = Record<string, Cell>;

/** A table of the data package: its Table Schema and its rows. */
export interface Table {
  /** Name of the resource; the file is `<name>.csv`. */
  name: string;
  description: string;
  fields: readonly Field[];
  primaryKey: readonly string[] | null;
  foreignKeys: readonly { fields: readonly string[]; resource: string; to: readonly string[] }[];
  rows: Row[];
}

const text = (name: string, description: string, constraints?: Field['constraints']): Field => ({
  name,
  type: 'string',
  description,
  ...(constraints && { constraints }),
});
const must = (name: string, description: string, constraints: Field['constraints'] = {}): Field =>
  text(name, description, { required: true, ...constraints });
const whole = (name: string, description: string, minimum: number, unit?: string): Field => ({
  name,
  type: 'integer',
  description,
  ...(unit !== undefined && { unit }),
  constraints: { required: true, minimum },
});
const maybe = (name: string, description: string, unit: string): Field => ({
  name,
  type: 'integer',
  description,
  unit,
  constraints: { minimum: 0 },
});

const session = whole('session', 'Running number of the session within this publication.', 1);
const part = whole('part', 'Number of the part of the session, from 1.', 1);
const kind = must('kind', 'What the part asked.', {
  enum: PART_KINDS,
});
// Anchored, for readers differ in whether a pattern must match the whole value.
const HEX = '^[0-9a-f]{64}$';
const value: Field = {
  name: 'value',
  type: 'number',
  description: 'The number; empty where it is a text, or where there is none.',
};
/** A mark or another observation, whose unit is another from row to row. */
const observed: Field = { ...value, unit: 'as the column unit says' };
const whole1 = (name: string, description: string): Field => ({
  name,
  type: 'integer',
  description,
  constraints: { minimum: 1 },
});
const wording = text(
  'text',
  'The text, or true or false; empty where it is a number, or where there is none.',
);
const role = { enum: ['sample', 'duplicate', 'spiked', 'warm-up'] };

/** Columns of every table, in order. */
export const FIELDS = {
  sessions: [
    session,
    must('title', 'Title of the session, as those who came read it.'),
    {
      name: 'held',
      type: 'yearmonth',
      description: 'Month in which it was tasted.',
      constraints: { required: true },
    },
    must('blinding', 'double: nobody in the room knew the key but who poured. single: the host had poured.', {
      enum: ['double', 'single'],
    }),
    must('tier', 'How much may be told: full (10 people or more), coarse (5 to 9), agreed (fewer).', {
      enum: ['full', 'coarse', 'agreed'],
    }),
    whole('seated', 'People who sat down.', 0, 'people'),
    whole('assessors', 'People who answered.', 0, 'people'),
    whole('withdrawn', 'People who took their answers back, told in batches.', 0, 'people'),
    must('root', 'Root of the seal, SHA-256, hex.', { pattern: HEX }),
    must('fingerprint', 'First 48 bits of the root, for people to compare.'),
    whole('leaves', 'Leaves of the whole seal, opened and closed.', 1, 'leaves'),
  ],
  /** Beyond those of `sessions`, in publications that tell of it. */
  keyReaders: [
    maybe(
      'keyReaders',
      'Accounts that opened the key before the reveal; empty: not written down.',
      'accounts',
    ),
    maybe('keyReadersInvited', 'How many of them a host had invited after the plan was sealed.', 'accounts'),
  ],
  arms: [
    must('arm', 'Name of the arm.'),
    must('id', 'Id by which figures name the arm.'),
    text('differs', 'What was done differently.'),
  ],
  samples: [
    session,
    must('sample', 'Id of the sample, as in the trays.'),
    part,
    must('arm', 'Arm that was in it.'),
    must('name', 'Name of the sample in results.'),
    must('role', 'What the cup was there for.', role),
    text('control', 'Of a difference from control: the marked or the hidden control.', {
      enum: ['marked', 'hidden'],
    }),
  ],
  trays: [
    session,
    must('tray', 'Id of the tray: random, and not of a seat.'),
    part,
    whole('replicate', 'How often its seat has had such a tray, from 1; 0: it does not count.', 0),
    whole('position', 'Place of the cup on the tray, left to right, from 1.', 1),
    must('code', 'Three digits on the cup: a label, not a number.', { pattern: '^[1-9][0-9]{2}$' }),
    must('sample', 'Id of the sample in the cup.'),
    text('mark', 'A cup that everybody may know; empty for the others.', { enum: ['reference', 'control'] }),
  ],
  answers: [
    session,
    part,
    kind,
    must('person', 'Pseudonym, drawn afresh for each publication and version.'),
    text('sample', 'Name of the sample; empty for what was said of a whole tray.'),
    text('arm', 'Arm in the cup; empty for what was said of a whole tray.'),
    text('role', 'What the cup was there for.', role),
    must('question', 'What was asked: an attribute, a word, or the task of the test.'),
    observed,
    wording,
    text('unit', 'Unit or scale of the value.'),
  ],
  descriptorCounts: [
    session,
    part,
    kind,
    must('word', 'Word of the vocabulary; with ‘, after 60 s’ where it was said at a late question.'),
    text('family', 'Family of the word; empty where it was named after a choice.'),
    must('group', 'The sample it was checked for, or the answers it was named with.'),
    whole('named', 'Answers that named the word.', 0, 'answers'),
    whole('answers', 'Answers in the group.', 0, 'answers'),
  ],
  orders: [
    session,
    part,
    must(
      'order',
      'Arms left to right: A is the first arm of the part, B the second; a reference in brackets.',
    ),
    whole('served', 'Trays of this order that were answered.', 0, 'trays'),
    {
      name: 'counted',
      type: 'integer',
      description: 'Answers among them that the test counts: right ones, or those for the first arm.',
      unit: 'answers',
      constraints: { minimum: 0 },
    },
  ],
  figures: [
    session,
    part,
    kind,
    must('figure', 'Path below the part in result.json; lists count from 1.'),
    value,
    wording,
  ],
  report: [
    whole1('session', 'Running number of the session; empty: holds for all of them.'),
    whole1('part', 'Number of the part; empty: holds for all parts.'),
    text('kind', 'What the part asked.', { enum: PART_KINDS }),
    must('item', 'What the report of a standard asks for.', { enum: REPORT_ITEMS }),
    must(
      'value',
      'What is known of it; ‘not recorded’ where nobody wrote it down, ‘not told’ where this publication says nothing of it.',
    ),
    must('source', 'Where that is from, or why it is unknown.'),
  ],
  seal: [
    session,
    whole('leaf', 'Place of the leaf in the tree, from 0.', 0),
    must('kind', 'What the leaf fixes.', { enum: ['settings', 'sample', 'tray'] }),
    must('nonce', 'Random number that keeps a closed leaf from being guessed, hex.', { pattern: HEX }),
    {
      name: 'body',
      type: 'object',
      description: 'What was fixed, as canonical JSON (RFC 8785).',
      constraints: { required: true },
    },
    {
      name: 'proof',
      type: 'array',
      description: 'Hashes on the way to the root, from the leaf upwards, hex.',
      constraints: { required: true },
    },
  ],
} as const satisfies Record<string, readonly Field[]>;
