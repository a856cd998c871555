import { z } from 'zod';
import { figureRows } from '../export/tidy.ts';
import { code } from '../contracts/common.ts';
import type { Publication, PublishedSession } from '../contracts/publication.ts';
import type { PartResult } from '../contracts/result.ts';
import { isDifferenceKind } from '../kinds/kinds.ts';
import { lateWord } from '../rules/parts.ts';
import { canonicalJson } from '../design/canonical-json.ts';
import { recordTables } from './package-record.ts';
import { FIELDS, type Row, type Table } from './package-fields.ts';
import { reportOf } from './report.ts';

/** What the seal holds of a tray (`design/seal.ts`). */
const trayBody = z.object({
  id: z.string(),
  part: z.number().int(),
  replicate: z.number().int(),
  servings: z.array(
    z.object({
      position: z.number().int(),
      code,
      sampleId: z.string(),
      mark: z.enum(['reference', 'control']).nullable(),
    }),
  ),
});

const ofSession = { fields: ['session'], resource: 'sessions', to: ['session'] };

/** Rows of every session, each with the number of its session. */
type Each = (rows: (session: PublishedSession) => Row[]) => Row[];

/**
 * All tables of a publication. `answers` is among them only where at least one session may publish rows.
 * @throws ZodError for a tray leaf that is not one.
 */
export function packageTables(publication: Publication): Table[] {
  const each: Each = (rows) =>
    publication.sessions.flatMap((session) =>
      rows(session).map((row) => ({ session: session.number, ...row })),
    );
  const withRows = publication.sessions.some(({ rows }) => rows !== null);
  return [
    ...pouredTables(publication, each),
    ...(withRows ? [answersTable(each)] : []),
    ...resultTables(each),
    ...recordTables(publication),
    reportTable(publication),
  ];
}

/** What was tasted: sessions, arms, samples, trays. */
function pouredTables(publication: Publication, each: Each): Table[] {
  const toldReaders = publication.sessions.some(({ keyReaders }) => keyReaders !== undefined);
  return [
    {
      name: 'sessions',
      description: 'Tastings that this publication tells of, with how many people came.',
      fields: toldReaders ? [...FIELDS.sessions, ...FIELDS.keyReaders] : FIELDS.sessions,
      primaryKey: ['session'],
      foreignKeys: [],
      rows: each((session) => [{ ...sessionRow(session), ...(toldReaders && readersRow(session)) }]),
    },
    {
      name: 'arms',
      description: 'Arms of the trial: the same batch, treated differently in the factor.',
      fields: FIELDS.arms,
      primaryKey: ['arm'],
      foreignKeys: [],
      rows: publication.arms.map(({ name, id, differs }) => ({ arm: name, id, differs })),
    },
    {
      name: 'samples',
      description: 'What was poured: which arm each sample of the trays stands for.',
      fields: FIELDS.samples,
      primaryKey: ['session', 'sample'],
      foreignKeys: [ofSession, { fields: ['arm'], resource: 'arms', to: ['arm'] }],
      rows: each(({ samples }) => samples.map(({ sampleId, ...rest }) => ({ sample: sampleId, ...rest }))),
    },
    {
      name: 'trays',
      description:
        'The opened trays of the seal, one row for each cup. Which seat had which tray stays closed.',
      fields: FIELDS.trays,
      primaryKey: ['session', 'tray', 'position'],
      // A sample leads to its session.
      foreignKeys: [{ fields: ['session', 'sample'], resource: 'samples', to: ['session', 'sample'] }],
      rows: each(trayRows),
    },
  ];
}

function answersTable(each: Each): Table {
  return {
    name: 'answers',
    description: 'One row for each observation, of sessions in which everybody agreed to it.',
    fields: FIELDS.answers,
    primaryKey: null,
    foreignKeys: [ofSession],
    rows: each(({ rows }) => (rows ?? []).map(({ value, ...row }) => ({ ...row, ...split(value) }))),
  };
}

/** What came out, and the seal to check it by. */
function resultTables(each: Each): Table[] {
  return [
    {
      name: 'descriptor-counts',
      description: 'How often each word was named, by sample or by what was answered.',
      fields: FIELDS.descriptorCounts,
      primaryKey: null,
      foreignKeys: [ofSession],
      rows: each(({ parts }) => parts.flatMap(wordRows)),
    },
    {
      name: 'orders',
      description:
        'Answers by serving order, so that the count of a choice test can be held against the trays.',
      fields: FIELDS.orders,
      primaryKey: ['session', 'part', 'order'],
      foreignKeys: [ofSession],
      rows: each(({ orders }) => orders.map((row) => ({ ...row }))),
    },
    {
      name: 'figures',
      description: 'Every figure of every result, under the path that leads to it in result.json.',
      fields: FIELDS.figures,
      primaryKey: ['session', 'part', 'figure'],
      foreignKeys: [ofSession],
      rows: each(({ parts }) =>
        figureRows({ parts, agreement: null }).map(({ part, kind, figure, value }) => ({
          part,
          kind,
          figure,
          ...split(value),
        })),
      ),
    },
    {
      name: 'seal',
      description: 'Opened leaves of the seal, each with its nonce and its path to the root.',
      fields: FIELDS.seal,
      primaryKey: ['session', 'leaf'],
      foreignKeys: [ofSession],
      rows: each(({ seal }) =>
        seal.leaves.map(({ index, kind, nonce, body, proof }) => ({
          leaf: index,
          kind,
          nonce,
          body: canonicalJson(body),
          proof: canonicalJson(proof),
        })),
      ),
    },
  ];
}

/** Made of what stands elsewhere here. */
function reportTable(publication: Publication): Table {
  return {
    name: 'report',
    description:
      'What the test reports of standards ask for, item by item: told, or said to be unknown. No conformity is claimed.',
    fields: FIELDS.report,
    primaryKey: null,
    foreignKeys: [],
    rows: reportOf(publication).map((row) => ({ ...row })),
  };
}

/** Numbers and texts in columns of their own, so that a program reads each with its type. */
function split(value: string | number | boolean | null): { value: number | null; text: string | null } {
  return typeof value === 'number'
    ? { value, text: null }
    : { value: null, text: value === null ? null : String(value) };
}

function sessionRow({ seal, title, heldIn, blinding, tier, ...session }: PublishedSession): Row {
  const { seated, assessors, withdrawn } = session;
  const { root, fingerprint, size } = seal;
  return {
    title,
    held: heldIn,
    blinding,
    tier,
    seated,
    assessors,
    withdrawn,
    root,
    fingerprint,
    leaves: size,
  };
}

const readersRow = ({ keyReaders }: PublishedSession): Row => ({
  keyReaders: keyReaders?.accounts ?? null,
  keyReadersInvited: keyReaders?.invited ?? null,
});

function trayRows({ seal }: PublishedSession): Row[] {
  return seal.leaves
    .filter(({ kind }) => kind === 'tray')
    .flatMap(({ body }) => {
      const { id, part, replicate, servings } = trayBody.parse(body);
      return servings.map(({ position, code: digits, sampleId, mark }) => ({
        tray: id,
        part,
        replicate,
        position,
        code: digits,
        sample: sampleId,
        mark,
      }));
    });
}

/** Words of a part: of each sample, of right answers and others, or of those who preferred one arm. */
function wordRows(part: PartResult): Row[] {
  const row = (
    word: string,
    group: string,
    named: number,
    answers: number,
    family: string | null = null,
  ) => ({
    part: part.part,
    kind: part.kind,
    word,
    family,
    group,
    named,
    answers,
  });
  if (isDifferenceKind(part)) {
    const { rows, countedAnswers, otherAnswers } = part.descriptors;
    return rows.flatMap(({ word, counted, other }) => [
      row(word, part.outcome.counted, counted, countedAnswers),
      row(word, part.outcome.other, other, otherAnswers),
    ]);
  }
  switch (part.kind) {
    case 'preference': {
      const [first, second] = part.votes.map(({ votes }) => votes);
      return part.descriptors.flatMap((named) => [
        row(named.word, 'preferred the first arm', named.first, first ?? 0),
        row(named.word, 'preferred the second arm', named.second, second ?? 0),
        row(named.word, 'no preference', named.none, part.noPreference.answers),
      ]);
    }
    case 'same-different': {
      const { rows, different, same } = part.descriptors;
      return rows.flatMap((named) => [
        row(named.word, 'called different', named.different, different ?? 0),
        row(named.word, 'called the same', named.same, same ?? 0),
      ]);
    }
    case 'description': {
      const names = new Map(part.samples.map(({ key, name }) => [key, name]));
      const { late } = part;
      const then = late?.words.map((one) => ({ ...one, word: lateWord(one.word, late) })) ?? [];
      return [...part.words, ...then].flatMap(({ word, family, shares }) =>
        shares.map(({ sample, checked, asked }) =>
          row(word, names.get(sample) ?? sample, checked, asked, family),
        ),
      );
    }
    case 'rating':
    case 'control':
    case 'liking':
    case 'ranking':
      return [];
  }
}
