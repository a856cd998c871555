import type { PublicationView } from '@oddglass/shared/contracts/publishing.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  Caller,
  draft,
  firstHost,
  moved,
  newTrial,
  seated,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import {
  answerOnTablet,
  copyRows,
  deskOf,
  entered,
  manyQuestions,
  paperCaveats,
  printOf,
  typedFrom,
  withoutPaper,
} from '../support/paper-evening.ts';
import { publishing } from '../support/publishing.ts';

// The same evening twice, on paper and on tablets: one result.

let server: TestServer;
let host: Hosted;

beforeAll(async () => {
  server = await startServer();
  host = await firstHost(server.app);
});
afterAll(() => server.close());

test('many questions: the result is that of tablets for the same answers, save for the mark of paper', async () => {
  const trial = await newTrial(host);
  const people = 12;
  const session = await moved(
    host,
    await draft(host, trial, {
      assessors: people,
      spareSeats: 0,
      cupMl: 20,
      parts: manyQuestions(trial.arms),
    }),
    'seal',
    'open',
  );
  const twin = await startServer();
  try {
    await copyRows(server.database.pool, twin.database.pool);
    const { body: print } = await printOf(host, session);
    const desk = await deskOf(host, session);
    for (const ballot of print.ballots) {
      const values = typedFrom(ballot.seat, { session: print.session, ...ballot });
      await entered(desk, ballot.seat, values);
      const { body } = await entered(desk, ballot.seat, values, 'second');
      expect(body.state).toBe('counts');
      const tablet = await seated(twin.app, session, ballot.seat);
      await answerOnTablet(tablet, ballot.seat, { session: print.session, ...ballot });
      // Whoever sits down in one place one after the other sits down in the pace of a room.
      twin.clock.now = new Date(twin.clock.now.getTime() + 15_000);
    }
    const onTablets = new Caller(twin.app);
    onTablets.cookie = host.caller.cookie;
    const results = [];
    const end = new Date(server.clock.now.getTime() + 3_600_000);
    for (const [who, clock] of [
      [host.caller, server.clock],
      [onTablets, twin.clock],
    ] as const) {
      const start = clock.now;
      clock.now = end;
      for (const step of ['close', 'reveal']) await who.ok('POST', `/api/sessions/${session.id}/${step}`, {});
      results.push(await who.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`));
      clock.now = start;
    }
    const [paper, tablets] = results as [ResultDocument, ResultDocument];
    expect(paper.parts.map(({ served }) => served.answers)).toEqual([12, 72, 36, 12]);
    expect(paper.session.paper).toEqual({ ballots: people, entered: 'twice' });
    expect(paperCaveats(paper)).toHaveLength(4);
    expect(tablets.session.paper).toBeUndefined();
    expect(withoutPaper(paper)).toEqual(withoutPaper(tablets));

    // Readers of a publication are told the same, beside the finding of every part.
    const { address } = await host.caller.ok<PublicationView>(
      'POST',
      `/api/trials/${trial.id}/publications`,
      publishing(trial, [session]),
    );
    const { text } = await new Caller(server.app).call('GET', `/api/p/${address}/result.json`);
    const told = (JSON.parse(text) as { sessions: Pick<ResultDocument, 'parts'>[] }).sessions[0]!;
    for (const { caveats } of told.parts)
      expect(caveats.map(({ text: said }) => said).join()).toContain('Twelve ballots came from paper');
  } finally {
    await twin.close();
  }
});
