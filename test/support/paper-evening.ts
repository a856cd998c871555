import { createHash } from 'node:crypto';
import type pg from 'pg';
import type { Answer as BallotAnswer } from '@oddglass/shared/contracts/ballot.ts';
import type {
  DeskBallot,
  DeskOffer,
  DeskOpened,
  EntryStep,
  PaperPrint,
} from '@oddglass/shared/contracts/paper.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { PartAtSeat } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { paperForm, placesOf, type PaperQuestion } from '@oddglass/shared/paper/form.ts';
import { Caller, type Hosted } from './app.ts';
import { ballotId } from './factories.ts';

// Evenings on paper: what invented people mark, as tablets send it and as a desk types it, each written by hand here and not
// read off the other.

/** A small number that belongs to these words alone, so that the same person marks the same on paper and on a tablet. */
export function dealt(below: number, ...of: readonly (string | number)[]): number {
  return createHash('sha256').update(of.join(' ')).digest().readUInt32BE(0) % below;
}

export interface Marked {
  answer: BallotAnswer;
  /** What the desk types, by the end of the place's id. */
  typed: Record<string, string>;
}

/** What the person at a seat marks on a sheet. */
export function markedBy(
  seat: number,
  { part, sheet, words }: Pick<PaperQuestion, 'part' | 'sheet' | 'words'>,
): Marked {
  const { codes } = sheet;
  const draw = (below: number, what: string | number = '') =>
    dealt(below, seat, codes.join(), part.kind, what);
  switch (part.kind) {
    case 'rating': {
      const marks = codes.flatMap((code) =>
        sheet.attributeIds.map((attributeId) => ({
          code,
          attributeId,
          value: draw(8, `${code} ${attributeId}?`) === 0 ? null : 5 + draw(90, `${code} ${attributeId}`),
        })),
      );
      return {
        answer: { kind: 'rating', marks },
        typed: Object.fromEntries(
          marks.map(({ value }, at) => [`m${at + 1}`, value === null ? '-' : String(value)]),
        ),
      };
    }
    case 'ranking': {
      const order = [...codes].sort((a, b) => dealt(1000, seat, a) - dealt(1000, seat, b));
      return {
        answer: { kind: 'ranking', order },
        typed: { order: codes.map((code) => order.indexOf(code) + 1).join(' ') },
      };
    }
    case 'description':
      return describedBy(draw, { part, sheet, words });
    case 'control': {
      const degree = draw(part.degrees.length);
      return { answer: { kind: 'control', degree }, typed: { degree: String(degree) } };
    }
    case 'liking': {
      const value = 1 + draw(9);
      return { answer: { kind: 'liking', value }, typed: { liking: String(value) } };
    }
    default:
      return chosenBy(draw, { part, sheet });
  }
}

type Draw = (below: number, what?: string | number) => number;

function chosenBy(draw: Draw, { part, sheet: { codes } }: Pick<PaperQuestion, 'part' | 'sheet'>): Marked {
  const two = part.kind === 'tetrad' || part.kind === 'two-out-of-five';
  const none = part.kind === 'preference' && part.noPreference && draw(4, 'none') === 0;
  const first = draw(codes.length, 'cup');
  const chosen = none ? [] : [first, ...(two ? [(first + 1) % codes.length] : [])].map((at) => codes[at]!);
  const sure = draw(3, 'sure');
  const why = draw(2, 'why') === 0;
  const asksWhy = part.kind !== 'preference';
  return {
    answer: {
      kind: 'choice',
      chosen,
      confidence: asksWhy ? (['certain', 'fairly-sure', 'guess'] as const)[sure]! : null,
      descriptors: asksWhy && why ? ['banana', 'clove'] : [],
    },
    typed: {
      cups: none ? '0' : chosen.join(' '),
      ...(asksWhy && { sure: String(sure + 1), why: why ? 'Banana, clove' : '' }),
    },
  };
}

function describedBy(
  draw: Draw,
  {
    part,
    sheet,
    words,
  }: { part: Extract<PartAtSeat, { kind: 'description' }> } & Pick<PaperQuestion, 'sheet' | 'words'>,
): Marked {
  const chosen = words.flatMap(({ id }, at) =>
    draw(3, id) === 0 ? [{ id, at, strong: (1 + draw(3, `${id}!`)) as 1 | 2 | 3 }] : [],
  );
  if (sheet.late) {
    return {
      answer: { kind: 'late', words: chosen.map(({ id }) => id), none: chosen.length === 0 },
      typed: { late: chosen.length === 0 ? '0' : chosen.map(({ at }) => at + 1).join(' ') },
    };
  }
  const own = draw(3, 'own') === 0 ? ['candle wax'] : [];
  const listed = chosen
    .map(({ at, strong }) => (part.intensity ? `${at + 1}.${strong}` : String(at + 1)))
    .join(' ');
  return {
    answer: {
      kind: 'description',
      words: chosen.map(({ id, strong }) => ({ id, intensity: part.intensity ? strong : null })),
      ownWords: own,
      none: chosen.length + own.length === 0,
    },
    typed: { words: chosen.length === 0 ? '0' : listed, own: own.join(', ') },
  };
}

/** Everything typed from the ballot of a seat, by the ids of its places. */
export function typedFrom(
  seat: number,
  facts: Pick<PaperPrint, 'session'> & Pick<PaperPrint['ballots'][number], 'trays' | 'words'>,
): Record<string, string> {
  const form = paperForm({ ...facts, parts: facts.session.parts, smellOnly: facts.session.smellOnly });
  const typed = form.questions.flatMap((question) =>
    Object.entries(markedBy(seat, question).typed).map(([name, text]) => {
      const field = question.fields.find(({ id }) => id.endsWith(`.${name}`));
      if (!field) throw new Error(`no place ${name} on the sheet ${question.where}`);
      return [field.id, text] as const;
    }),
  );
  const swallowed = [...form.ofTrays.values()].map(({ id }) => [id, String(1 + dealt(3, seat, id))] as const);
  const all = Object.fromEntries([...typed, ...swallowed]);
  // Places nobody says anything at are left as they are on paper.
  const places = placesOf(form).flatMap(({ fields }) => fields.map(({ id }) => id));
  return Object.fromEntries(places.map((id) => [id, all[id] ?? '']));
}

/** The desk of an open session, with a keeper outside of the panel. */
export async function deskOf(host: Hosted, session: SessionView, keeper = 'Wren'): Promise<Caller> {
  const offer = await host.caller.ok<DeskOffer>('POST', `/api/sessions/${session.id}/paper/desk`, {});
  const door = new Caller(host.caller.app);
  const opened = await door.ok<DeskOpened>('POST', '/api/desk/open', { token: offer.linkToken, keeper });
  return new Caller(host.caller.app, opened.deskToken);
}

/** Enters a ballot as the desk does; returns how it stands then. */
export const entered = (
  desk: Caller,
  seat: number,
  values: Record<string, string>,
  step: EntryStep = 'first',
  id = ballotId(),
) => desk.call<DeskBallot>('POST', `/api/desk/ballots/${seat}/entries`, { id, step, values });

export const printOf = (who: Hosted, { id }: SessionView, query = '') =>
  who.caller.call<PaperPrint>('GET', `/api/sessions/${id}/paper${query}`);

/** Takes a seat on a tablet and sends what the same person would have marked on paper. */
export async function answerOnTablet(
  tablet: Caller,
  seat: number,
  {
    session,
    trays,
    words,
  }: Pick<PaperPrint, 'session'> & Pick<PaperPrint['ballots'][number], 'trays' | 'words'>,
): Promise<void> {
  const form = paperForm({ parts: session.parts, trays, words, smellOnly: session.smellOnly });
  const last = new Map(form.questions.map(({ tray, sheet }) => [tray.id, sheet]));
  for (const question of form.questions) {
    const { tray, sheet } = question;
    const swallowed = form.ofTrays.get(tray.id);
    const way = swallowed && (['swallowed', 'spat', 'some-of-each'] as const)[dealt(3, seat, swallowed.id)];
    await tablet.ok('POST', '/api/seat/ballots', {
      id: ballotId(),
      trayId: tray.id,
      part: sheet.part,
      sheet: sheet.sheet,
      answer: markedBy(seat, question).answer,
      comment: '',
      swallowing: last.get(tray.id) === sheet ? way : null,
    });
  }
}

/** Brings everything that lies in one database into another that is empty: the same session, to be tasted twice. */
export async function copyRows(from: pg.Pool, to: pg.Pool): Promise<void> {
  const { rows: tables } = await from.query<{ name: string }>(
    "select table_name as name from information_schema.tables where table_schema = 'public' and table_type = 'BASE TABLE'",
  );
  const client = await to.connect();
  try {
    // References are whole as they come; they need no order then.
    await client.query('set session_replication_role = replica');
    for (const { name } of tables) {
      const { rows } = await from.query<{ all: unknown }>(
        `select coalesce(json_agg(t), '[]') as all from "${name}" t`,
      );
      await client.query(`delete from "${name}"`);
      await client.query(
        `insert into "${name}" overriding system value select * from json_populate_recordset(null::"${name}", $1)`,
        [JSON.stringify(rows[0]?.all)],
      );
    }
    await client.query('set session_replication_role = origin');
  } finally {
    client.release();
  }
}

const PAPER = /ballots? came from paper/;

/**
 * A result without what says that it came from paper, and without the root over the answers: that is made of ids and nonces
 * drawn by chance for each ballot, so that it differs between any two evenings.
 */
export function withoutPaper(result: ResultDocument): unknown {
  const { paper: _paper, answersRoot: _root, ...session } = result.session;
  return {
    ...result,
    session,
    parts: result.parts.map((part) => ({
      ...part,
      caveats: part.caveats.filter(({ text }) => !PAPER.test(text)),
    })),
  };
}

/** Sentences of a result that say how many ballots came from paper. */
export const paperCaveats = (result: ResultDocument): string[] =>
  result.parts.flatMap(({ caveats }) => caveats.map(({ text }) => text).filter((text) => PAPER.test(text)));

/** A tasting that asks in several ways: a triangle with words on the same cups, then marks and an order of three cups. */
export function manyQuestions(arms: readonly { id: string }[]): Part[] {
  const [first, second] = arms.map(({ id }) => id) as [string, string];
  const flight = { replicates: 1, cupsEach: null, alpha: 0.05 };
  const sample = (armId: string, role: 'sample' | 'duplicate' = 'sample') => ({ armId, role, spike: null });
  return [
    {
      kind: 'triangle',
      armIds: [first, second],
      replicates: 1,
      alpha: 0.05,
      aim: 'difference',
      meaningfulShare: 0.5,
      beta: 0.2,
    },
    {
      kind: 'description',
      ...flight,
      cups: 'before',
      samples: [],
      words: ['banana', 'clove', 'bread', 'honey'],
      intensity: true,
      late: { words: ['clove', 'bread'], seconds: 60 },
    },
    {
      kind: 'rating',
      ...flight,
      cups: 'own',
      samples: [sample(first), sample(second), sample(first, 'duplicate')],
      attributes: [
        { id: 'bitter', name: 'bitterness', low: 'none', high: 'very strong' },
        { id: 'fruit', name: 'ripe fruit', low: 'none', high: 'very strong' },
      ],
      scale: 'line',
      by: 'sample',
      returning: true,
    },
    { kind: 'ranking', ...flight, cups: 'before', samples: [], attribute: 'sour' },
  ];
}
