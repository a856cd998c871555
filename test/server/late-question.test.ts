import type { PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { DescriptionPart } from '@oddglass/shared/contracts/part.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { unzipPackage } from '@oddglass/shared/publication/package.ts';
import { verifyPackage } from '@oddglass/shared/publication/verify.ts';
import { beforeAll, expect, test } from 'vitest';
import { draft, moved, newTrial, seated, usePanel, type Hosted, type TestServer } from '../support/app.ts';
import { ballotId } from '../support/factories.ts';
import { expectProblem, publish, YES } from '../support/publishing.ts';
import { keyOf } from '../support/simulated-panel.ts';

// An evening with a late question over the API: asked after each cup, taken in like any ballot, told by arm, and published.

let server: TestServer;
let host: Hosted;
let trial: TrialView;
usePanel((panel) => ({ server, host } = panel));
beforeAll(async () => {
  trial = await newTrial(host);
});

const asking = (change: Partial<DescriptionPart> = {}): DescriptionPart => ({
  kind: 'description',
  cups: 'own',
  samples: trial.arms.slice(0, 2).map(({ id }) => ({ armId: id, role: 'sample', spike: null })),
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
  words: ['mousy', 'bitter', 'banana'],
  intensity: false,
  late: { words: ['mousy', 'bitter'], seconds: 60 },
  ...change,
});

test('a late question names words that are offered at first, a few, and a wait within bounds', async () => {
  const refused = async (change: Partial<DescriptionPart>) => {
    const answer = await host.caller.call<ProblemDocument>('POST', `/api/trials/${trial.id}/sessions`, {
      ...(await sessionBody()),
      parts: [asking(change)],
    });
    return expectProblem(answer, 'invalid-input', 400);
  };
  expect(await refused({ late: { words: ['clove'], seconds: 60 } })).toEqual(['#/parts/0/late/words/0']);
  expect(await refused({ late: { words: [], seconds: 60 } })).toEqual(['#/parts/0/late/words']);
  expect(await refused({ late: { words: ['mousy', 'mousy'], seconds: 60 } })).toEqual([
    '#/parts/0/late/words',
  ]);
  expect(await refused({ late: { words: ['mousy'], seconds: 10 } })).toEqual(['#/parts/0/late/seconds']);
  // Which words there are is asked of the vocabulary when the plan is sealed.
  const unknown = asking({ words: null, late: { words: ['no-such-word'], seconds: 60 } });
  const { id } = await draft(host, trial, { parts: [unknown] });
  const sealed = await host.caller.call<ProblemDocument>('POST', `/api/sessions/${id}/seal`, {});
  expect(expectProblem(sealed, 'invalid-input', 400)).toEqual(['#/parts/0/late/words/0']);
});

async function sessionBody() {
  const { settings } = await draft(host, trial, { parts: [asking()] });
  return settings;
}

test('is asked after each cup, taken in once, told by arm, exported and published', async () => {
  const session = await moved(
    host,
    await draft(host, trial, { assessors: 12, spareSeats: 0, parts: [asking()] }),
    'seal',
    'open',
  );
  const { servings } = await keyOf(server, session.id);
  const armOf = new Map(servings.map(({ trayId, code, armId }) => [`${trayId} ${code}`, armId]));
  const second = trial.arms[1]!.id;

  for (let seat = 1; seat <= 12; seat++) {
    const tablet = await seated(server.app, session, seat);
    await tablet.ok('POST', '/api/seat/consent', YES);
    const { session: told, trays } = await tablet.ok<SeatView>('GET', '/api/seat');
    expect(told.parts[0]).toMatchObject({
      kind: 'description',
      late: { words: ['mousy', 'bitter'], seconds: 60 },
    });
    const [tray] = trays;
    if (!tray) throw new Error('a seat has a tray');
    // Alike for every cup: its words, then its late question, before the next one.
    expect(tray.sheets.map(({ sheet, codes, late }) => [sheet, codes[0], late ?? false])).toEqual(
      tray.servings.flatMap(({ code }, at) => [
        [2 * at + 1, code, false],
        [2 * at + 2, code, true],
      ]),
    );
    for (const { part, sheet, codes, late } of tray.sheets) {
      const isSecond = armOf.get(`${tray.id} ${codes[0]}`) === second;
      // At first the arms are alike; late nearly everybody has mice in the second. Bitter stays for six, and comes for three.
      const first = seat <= 6 ? ['bitter'] : [];
      const then = [...(isSecond && seat <= 11 ? ['mousy'] : []), ...(seat <= 9 ? ['bitter'] : [])];
      const answer = late
        ? { kind: 'late' as const, words: then, none: then.length === 0 }
        : {
            kind: 'description' as const,
            words: first.map((id) => ({ id, intensity: null })),
            ownWords: [],
            none: first.length === 0,
          };
      const ballot = { id: ballotId(), trayId: tray.id, part, sheet, answer, comment: '' };
      if (seat === 1 && late) {
        const send = (change: object) =>
          tablet.call<ProblemDocument>('POST', '/api/seat/ballots', { ...ballot, id: ballotId(), ...change });
        const wrong = await send({ answer: { kind: 'late', words: ['banana'], none: false } });
        expect(expectProblem(wrong, 'invalid-input', 400)).toEqual(['#/answer/words/0']);
        const kind = await send({ answer: { kind: 'description', words: [], ownWords: [], none: true } });
        expect(expectProblem(kind, 'invalid-input', 400)).toEqual(['#/answer/kind']);
        const contradicting = await send({ answer: { kind: 'late', words: ['mousy'], none: true } });
        expect(expectProblem(contradicting, 'invalid-input', 400)).toEqual(['#/answer/none']);
      }
      const receipt = await tablet.ok<BallotReceipt>('POST', '/api/seat/ballots', ballot);
      // Sent again after a lost acknowledgement: the same. Another answer: the first stands.
      expect(await tablet.ok<BallotReceipt>('POST', '/api/seat/ballots', ballot)).toEqual(receipt);
      if (late) {
        const other = await tablet.call<ProblemDocument>('POST', '/api/seat/ballots', {
          ...ballot,
          answer: {
            kind: 'late',
            words: ['mousy', 'bitter'].filter((id) => !then.includes(id)),
            none: then.length === 2,
          },
        });
        expectProblem(other, 'ballot-differs', 409);
        expect(other.body.stored?.answer).toEqual(answer);
      }
    }
    const after = await tablet.ok<SeatView>('GET', '/api/seat');
    expect(after.trays[0]?.sheets.every(({ ballot }) => ballot !== null)).toBe(true);
    expect(after.progress?.step).toBe('finished');
  }

  const revealed = await moved(host, session, 'close', 'reveal');
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  const [part] = result.parts;
  if (part?.kind !== 'description' || !part.late) throw new Error('a description with a late question');
  expect(part.words.map(({ word, test }) => [word, test?.differs])).toEqual([['bitter', false]]);
  const [mousy, bitter] = ['mousy', 'bitter'].map((id) => part.late?.words.find((word) => word.id === id));
  const [one, two] = [0, 1].map((place) => part.samples[place]?.name);
  expect([one, two]).toEqual(trial.arms.slice(0, 2).map(({ name }) => name));
  expect(mousy?.shares.map(({ checked, asked }) => [checked, asked])).toEqual([
    [0, 12],
    [11, 12],
  ]);
  expect(mousy?.beside.map((told) => told && [told.stayed, told.came, told.gone])).toEqual([
    [0, 0, 0],
    [0, 11, 0],
  ]);
  expect(bitter?.beside.map((told) => told && [told.stayed, told.came, told.gone])).toEqual([
    [6, 3, 0],
    [6, 3, 0],
  ]);
  // Eleven to one side, none to the other, adjusted for the two words asked for then.
  expect(mousy?.test?.pAdjusted).toBeCloseTo(2 * 2 ** -10, 12);
  expect(mousy?.test?.differs).toBe(true);
  expect(part.finding.headline).toBe(
    `No word was shown to differ between the samples at first. After 60 s, mousy was checked more for ${two}.`,
  );
  expect(part.served).toMatchObject({ assessors: 12, answers: 48, unanswered: 0 });

  const csv = (await host.caller.call('GET', `/api/sessions/${session.id}/result.csv`)).text.split('\r\n');
  expect(csv.filter((line) => line.includes('"mousy, after 60 s",1,'))).toHaveLength(11);
  expect(csv.filter((line) => line.includes('"none of these, after 60 s",1,')).length).toBeGreaterThan(0);

  const { address } = await publish(host, { trial, session: revealed, receipts: [], tablets: [] });
  const { publication } = await host.caller.ok<PublishedView>('GET', `/api/p/${address}`);
  const told = publication?.sessions[0]?.parts[0];
  if (told?.kind !== 'description' || !told.late) throw new Error('the late question is told');
  expect(told.late.words.map(({ word }) => word).sort()).toEqual(['bitter', 'mousy']);
  // One of twelve has no mice: whoever that is would be known.
  const mice = told.late.words.find(({ id }) => id === 'mousy');
  expect(mice?.beside.map((cell) => cell !== null)).toEqual([true, false]);
  const zip = await server.app.inject({ method: 'GET', url: `/api/p/${address}/package.zip` });
  const files = unzipPackage(zip.rawPayload);
  const words = new TextDecoder().decode(
    files.find(({ path }) => path.endsWith('descriptor-counts.csv'))?.bytes,
  );
  expect(words).toContain('"mousy, after 60 s"');
  const checks = verifyPackage(zip.rawPayload);
  expect(checks.filter(({ ok }) => !ok)).toEqual([]);
  expect(checks.some(({ name }) => name.endsWith('late question as sealed'))).toBe(true);
});
