import type { DescriptionPart } from '@oddglass/shared/contracts/part.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type {
  VocabularyChangeInput,
  VocabularyView,
  WordReference,
} from '@oddglass/shared/contracts/vocabulary.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { WORDS_OF_EDITION_1 } from '@oddglass/shared/vocabulary/edition-1.ts';
import { EDITION } from '@oddglass/shared/vocabulary/editions.ts';
import { resolveWord } from '@oddglass/shared/vocabulary/panel-vocabulary.ts';
import { placeFreeWord } from '@oddglass/shared/vocabulary/search.ts';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import {
  draft,
  firstHost,
  invited,
  moved,
  newTrial,
  seated,
  startServer,
  strangeHost,
  type Answer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotId } from '../support/factories.ts';
import { playSession } from '../support/simulated-panel.ts';
import type { PanelView } from '@oddglass/shared/contracts/panel.ts';

// A panel's own vocabulary over the API: who may change it, in which order, and what a sealed session keeps.

let server: TestServer;
let first: Hosted;
let steward: Hosted;
let stranger: Hosted;
/** A panel of its own for each test, with the same host and steward. */
let host: Hosted;

beforeAll(async () => {
  server = await startServer();
  first = await firstHost(server.app);
  stranger = await strangeHost(first);
});
afterAll(() => server.close());
let panels = 0;
beforeEach(async () => {
  panels += 1;
  const panel = await first.caller.ok<PanelView>('POST', '/api/panels', { name: `Panel ${panels}` });
  host = { caller: first.caller, panel: panel.id };
  steward = await invited(host, 'steward', `Steward ${panels}`);
});

const path = (): string => `/api/panels/${host.panel}/vocabulary`;
const read = (by = host): Promise<VocabularyView> => by.caller.ok('GET', path());
const sendAs = (
  by: Hosted,
  onVersion: number,
  change: VocabularyChangeInput,
): Promise<Answer<VocabularyView & ProblemDocument>> =>
  by.caller.call('POST', `${path()}/changes`, { onVersion, change });
const change = (onVersion: number, what: VocabularyChangeInput): Promise<VocabularyView> =>
  host.caller.ok('POST', `${path()}/changes`, { onVersion, change: what });

const hay: VocabularyChangeInput = {
  kind: 'word-added',
  id: 'attic-dust',
  word: 'attic dust',
  family: BUILT_IN.families[0]!.id,
  usually: 'depends',
  definition: 'A warm loft that nobody sweeps.',
  synonyms: ['loft dust'],
};
const merge: VocabularyChangeInput = { kind: 'words-merged', from: 'rotten-egg', into: 'sulphur' };

function expectProblem(
  answer: Answer<ProblemDocument>,
  name: string,
  status: number,
  pointer?: string,
): ProblemDocument {
  expect({ type: answer.body.type, status: answer.status }).toEqual({ type: `/problems/${name}`, status });
  if (pointer) expect(answer.body.errors?.map((error) => error.pointer)).toEqual([pointer]);
  return answer.body;
}

describe('who may', () => {
  test('a panel starts from the built-in words, and a host may change them', async () => {
    const view = await read();
    expect(view).toMatchObject({ mayChange: true, demo: false, history: [], unplaced: [] });
    expect(view.vocabulary).toEqual(BUILT_IN);
    expect(view.vocabulary.words.length).toBeGreaterThanOrEqual(120);
  });
  test('a host adds, names and merges; versions and history tell it', async () => {
    await change(0, hay);
    await change(1, { kind: 'synonym-added', id: 'attic-dust', synonym: 'unswept loft' });
    await change(2, { kind: 'simile-added', id: 'attic-dust', simile: 'grandmother’s trunk' });
    const view = await change(3, merge);
    expect(view.vocabulary).toMatchObject({ version: 'built-in-2+4', changes: 4 });
    expect(view.history.map(({ version, change: { kind } }) => `${version} ${kind}`)).toEqual([
      '1 word-added',
      '2 synonym-added',
      '3 simile-added',
      '4 words-merged',
    ]);
    expect(view.history[0]!.at).toBe('2031-03-04T18:00:00.000Z');
    const word = view.vocabulary.words.find(({ id }) => id === 'attic-dust');
    expect(word).toMatchObject({ synonyms: ['loft dust', 'unswept loft'], similes: ['grandmother’s trunk'] });
    expect(view.vocabulary.words.some(({ id }) => id === 'rotten-egg')).toBe(false);
    expect(resolveWord(view.vocabulary, 'rotten-egg')?.id).toBe('sulphur');
    expect(placeFreeWord(view.vocabulary, 'Rotten eggs')).toEqual({ id: 'sulphur' });
    expect(await read()).toEqual(view);
  });
  test('a reference of its own keeps caution and allergens', async () => {
    const reference: WordReference = {
      how: 'Soak a clean linen thread in the drink for ten minutes.',
      dose: { amount: 0.5, unit: 'g', per: '500 mL of dry cider' },
      caution: 'For smelling only.',
      allergens: ['sulphites'],
    };
    const view = await change(0, { kind: 'reference-added', id: 'sulphur', reference });
    expect(resolveWord(view.vocabulary, 'sulphur')?.ownReferences).toEqual([reference]);
  });
  test('a steward reads the same and changes nothing', async () => {
    expect(await read(steward)).toMatchObject({ mayChange: false, vocabulary: { changes: 0 } });
    expectProblem(await sendAs(steward, 0, hay), 'not-allowed', 403);
    expect((await read()).vocabulary.changes).toBe(0);
  });
  test('a stranger finds nothing, nobody signed in is asked to sign in', async () => {
    expectProblem(await stranger.caller.call('GET', path()), 'not-found', 404);
    expectProblem(await sendAs(stranger, 0, hay), 'not-found', 404);
    const nobody = await server.app.inject({ method: 'GET', url: path() });
    expect(nobody.statusCode).toBe(401);
    expect((await read()).vocabulary.changes).toBe(0);
  });
  test('another panel keeps its own words', async () => {
    await change(0, hay);
    const other = await first.caller.ok<PanelView>('POST', '/api/panels', { name: 'Beside' });
    const beside = await first.caller.ok<VocabularyView>('GET', `/api/panels/${other.id}/vocabulary`);
    expect(beside.vocabulary).toEqual(BUILT_IN);
  });
});

describe('refused, and nothing changes', () => {
  test('a version that has moved on', async () => {
    await change(0, hay);
    const late = await sendAs(host, 0, merge);
    expect(expectProblem(late, 'vocabulary-moved', 409).detail).toContain('version 1');
    expect((await read()).vocabulary.changes).toBe(1);
    // Looked at again, it goes through.
    expect((await sendAs(host, 1, merge)).status).toBe(200);
  });
  test('of two at once, one goes through', async () => {
    const synonyms = ['one name', 'another name', 'a third name', 'a fourth name'];
    const answers = await Promise.all(
      synonyms.map((synonym) => sendAs(host, 0, { kind: 'synonym-added', id: 'sulphur', synonym })),
    );
    expect(answers.map(({ status }) => status).sort()).toEqual([200, 409, 409, 409]);
    const view = await read();
    expect(view.history).toHaveLength(1);
  });
  test.each<[string, VocabularyChangeInput, string]>([
    ['a word that is there', { ...hay, id: 'second', word: 'Struck match' }, '#/change/word'],
    ['an id that is there', { ...hay, id: 'sulphur' }, '#/change/id'],
    ['an id with capitals', { ...hay, id: 'Attic' }, '#/change/id'],
    ['a family that is not there', { ...hay, family: 'nowhere' }, '#/change/family'],
    ['a word of blanks', { ...hay, word: '  ' }, '#/change/word'],
    [
      'a synonym of another word',
      { kind: 'synonym-added', id: 'smoke', synonym: 'eggy' },
      '#/change/synonym',
    ],
    ['a synonym of no word', { kind: 'synonym-added', id: 'nothing', synonym: 'new name' }, '#/change/id'],
    [
      'a likeness that is taken',
      { kind: 'simile-added', id: 'smoke', simile: 'stink bomb' },
      '#/change/simile',
    ],
    ['a merge into itself', { kind: 'words-merged', from: 'smoke', into: 'smoke' }, '#/change/into'],
    ['a merge into nothing', { kind: 'words-merged', from: 'smoke', into: 'nowhere' }, '#/change/into'],
    [
      'a reference without an amount',
      {
        kind: 'reference-added',
        id: 'smoke',
        reference: { how: 'h', dose: { amount: 0, unit: 'g', per: 'p' }, caution: 'c', allergens: [] },
      },
      '#/change/reference/dose/amount',
    ],
  ])('%s', async (_name, what, pointer) => {
    expectProblem(await sendAs(host, 0, what), 'invalid-input', 400, pointer);
    expect((await read()).vocabulary).toEqual(BUILT_IN);
  });
});

/** A description of two arms with these words offered. */
function description(trial: TrialView, words: string[] | null): DescriptionPart {
  return {
    kind: 'description',
    cups: 'own',
    samples: trial.arms.slice(0, 2).map(({ id }) => ({ armId: id, role: 'sample', spike: null })),
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
    words,
    intensity: false,
  };
}

describe('sessions', () => {
  test('a sealed session keeps its version while the panel moves on', async () => {
    const trial = await newTrial(host);
    const parts = [description(trial, ['rotten-egg', 'sulphur', 'smoke'])];
    const sealed = await moved(
      host,
      await draft(host, trial, { assessors: 2, spareSeats: 0, parts }),
      'seal',
    );
    await change(0, merge);
    const open = await moved(host, sealed, 'open');
    const tablet = await seated(server.app, open, 1);
    const view = await tablet.ok<SeatView>('GET', '/api/seat');
    expect(view.words.map(({ id }) => id)).toContain('rotten-egg');
    const [tray] = view.trays;
    const [sheet] = tray!.sheets;
    await tablet.ok('POST', '/api/seat/ballots', {
      id: ballotId(),
      trayId: tray!.id,
      part: sheet!.part,
      sheet: sheet!.sheet,
      answer: {
        kind: 'description',
        words: [{ id: 'rotten-egg', intensity: null }],
        ownWords: [],
        none: false,
      },
      comment: '',
    });

    // Sealed after the merge: the old word is no longer offered.
    const later = await moved(
      host,
      await draft(host, trial, {
        title: 'Pale beer, day 35',
        assessors: 2,
        spareSeats: 0,
        parts: [description(trial, null)],
      }),
      'seal',
      'open',
    );
    const other = await seated(server.app, later, 1);
    const offered = (await other.ok<SeatView>('GET', '/api/seat')).words.map(({ id }) => id);
    expect(offered).not.toContain('rotten-egg');
    expect(offered).toContain('sulphur');
  });

  test('a word merged after the draft is offered as the word it went into, and an unknown one keeps the session open', async () => {
    const trial = await newTrial(host);
    const drafted = await draft(host, trial, {
      parts: [description(trial, ['rotten-egg', 'smoke', 'sulphur'])],
    });
    const alone = await draft(host, trial, { parts: [description(trial, ['rotten-egg', 'sulphur'])] });
    const strange = await draft(host, trial, { parts: [description(trial, ['smoke', 'no-such-word'])] });
    await change(0, merge);
    const seal = (id: string) =>
      host.caller.call<SessionView & ProblemDocument>('POST', `/api/sessions/${id}/seal`);
    const sealed = await seal(drafted.id);
    expect(sealed.status).toBe(200);
    expect(sealed.body.settings.parts).toEqual([description(trial, ['sulphur', 'smoke'])]);
    expectProblem(await seal(alone.id), 'invalid-input', 400, '#/parts/0/words');
    expectProblem(await seal(strange.id), 'invalid-input', 400, '#/parts/0/words/1');
  });

  test('a session sealed before the newest edition of the built-in words is asked, and read, with the first', async () => {
    const trial = await newTrial(host);
    const settings = { assessors: 2, spareSeats: 0, parts: [description(trial, null)] };
    const sealed = await moved(host, await draft(host, trial, settings), 'seal');
    const pinned = async () =>
      (
        await server.database.pool.query(
          'select vocabulary_version as version, vocabulary_edition as edition from session where id = $1',
          [sealed.id],
        )
      ).rows;
    expect(await pinned()).toEqual([{ version: 0, edition: EDITION }]);
    // As it was kept when there was one edition only.
    await server.database.pool.query('update session set vocabulary_edition = null where id = $1', [
      sealed.id,
    ]);
    const open = await moved(host, sealed, 'open');
    const tablet = await seated(server.app, open, 1);
    const view = await tablet.ok<SeatView>('GET', '/api/seat');
    expect(view.words.map(({ id }) => id).sort()).toEqual([...WORDS_OF_EDITION_1].sort());
    const [tray] = view.trays;
    const said = (id: string) =>
      tablet.call<ProblemDocument>('POST', '/api/seat/ballots', {
        id: ballotId(),
        trayId: tray!.id,
        part: 1,
        sheet: 1,
        answer: { kind: 'description', words: [{ id, intensity: null }], ownWords: [], none: false },
        comment: '',
      });
    expectProblem(await said('juniper'), 'invalid-input', 400, '#/answer/words/0/id');
    expect((await said('leather')).status).toBe(200);
    await moved(host, open, 'close', 'reveal');
    const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${sealed.id}/result`);
    const [part] = result.parts;
    expect(part).toMatchObject({ kind: 'description' });
    expect(JSON.stringify(part)).toContain('leather');
    expect(JSON.stringify(part)).not.toContain('juniper');
  });

  test('a panel that had a word before the edition brought it reads and changes its vocabulary as ever', async () => {
    await change(0, hay);
    const before = { ...hay, id: 'our-juniper', word: 'Juniper', synonyms: [] };
    await server.database.pool.query(
      `insert into vocabulary_change (panel_id, version, change, at) values ($1, 2, $2, now())`,
      [host.panel, JSON.stringify({ ...before, similes: [], perceived: ['nose'], drinks: ['beer'] })],
    );
    const view = await read();
    expect(view.vocabulary.words.filter(({ word }) => /^juniper$/i.test(word)).map(({ id }) => id)).toEqual([
      'our-juniper',
    ]);
    const next = await change(2, { kind: 'synonym-added', id: 'our-juniper', synonym: 'farm juniper' });
    expect(next.vocabulary.version).toBe(`built-in-${EDITION}+3`);
  });

  test('own words of revealed sessions are collected, and go once they have a place', async () => {
    const trial = await newTrial(host);
    const written = ['Wet dog blanket', 'wet dog blanket', 'pear drops', 'qwzx'];
    let next = 0;
    await playSession(
      server,
      host,
      trial,
      { assessors: 2, spareSeats: 0, parts: [description(trial, ['smoke', 'sulphur'])] },
      () => {
        const ownWords = [written[next % written.length]!];
        next += 1;
        return { kind: 'description', words: [], ownWords, none: false };
      },
    );
    expect(next).toBe(4);
    // 'pear drops' is known to the vocabulary; wording counts once, whatever its case.
    const view = await read();
    expect(view.unplaced).toEqual([
      { word: 'wet dog blanket', mentions: 2 },
      { word: 'qwzx', mentions: 1 },
    ]);
    const named = await change(0, { kind: 'synonym-added', id: 'sulphur', synonym: 'wet dog blanket' });
    expect(named.unplaced).toEqual([{ word: 'qwzx', mentions: 1 }]);
    const added = await change(1, { ...hay, id: 'qwzx', word: 'qwzx', synonyms: [] });
    expect(added.unplaced).toEqual([]);
  });

  test('own words stay unseen until the reveal', async () => {
    const trial = await newTrial(host);
    const settings = { assessors: 2, spareSeats: 0, parts: [description(trial, ['smoke', 'sulphur'])] };
    const open = await moved(host, await draft(host, trial, settings), 'seal', 'open');
    const tablet = await seated(server.app, open, 1);
    const [tray] = (await tablet.ok<SeatView>('GET', '/api/seat')).trays;
    await tablet.ok('POST', '/api/seat/ballots', {
      id: ballotId(),
      trayId: tray!.id,
      part: 1,
      sheet: 1,
      answer: { kind: 'description', words: [], ownWords: ['wet dog blanket'], none: false },
      comment: '',
    });
    expect((await read()).unplaced).toEqual([]);
    await moved(host, open, 'close');
    expect((await read()).unplaced).toEqual([]);
    await moved(host, open, 'reveal');
    expect((await read()).unplaced).toEqual([{ word: 'wet dog blanket', mentions: 1 }]);
  });
});
