import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { draft, firstHost, invited, moved, newTrial, seated, startServer } from '../support/app.ts';
import type { Caller, Hosted, TestServer } from '../support/app.ts';
import { ballotId } from '../support/factories.ts';
import { findLeaks, type Truth } from '../support/leaks.ts';

// Before the reveal nothing tells whether the two cups of a tray are the same: neither what a host or an assessor gets, nor its
// order, times or counts, even where everybody is right.

const SEATS = 14;
let server: TestServer;
let host: Hosted;
let steward: Hosted;
let trial: TrialView;
let session: SessionView;
let truth: Truth;
const tablets: Caller[] = [];
const seen: { who: 'host' | 'assessor'; what: string; body: unknown }[] = [];

async function look(what: string): Promise<void> {
  for (const path of ['', '/board', '/events', '/announcement']) {
    const { status, text } = await host.caller.call('GET', `/api/sessions/${session.id}${path}`);
    if (status === 200) seen.push({ who: 'host', what: `${path} ${what}`, body: JSON.parse(text) });
  }
  for (const tablet of tablets) {
    const body = await tablet.ok<SeatView>('GET', '/api/seat');
    seen.push({ who: 'assessor', what, body });
  }
}

/** The sort of the pair on each tray, from the steward's list, which holds the key. */
function sortsOf(pour: PourView): Map<string, string> {
  const cups = pour.samples.flatMap(({ id, cups: own }) => own.map((cup) => ({ id, ...cup })));
  const trays = Map.groupBy(cups, ({ seat, trayNumber }) => `${seat}/${trayNumber}`);
  return new Map(
    [...trays].map(([tray, both]) => [
      tray,
      new Set(both.map(({ id }) => id)).size === 1 ? 'alike' : 'differ',
    ]),
  );
}

beforeAll(async () => {
  server = await startServer({});
  host = await firstHost(server.app);
  steward = await invited(host, 'steward', 'Steward');
  trial = await newTrial(host);
  const armIds = trial.arms.slice(0, 2).map(({ id }) => id);
  const part = {
    kind: 'same-different' as const,
    armIds,
    replicates: 2,
    alpha: 0.05,
    beta: 0.2,
    dPrime: 1.5,
  };
  session = await moved(
    host,
    await draft(host, trial, { assessors: SEATS, spareSeats: 0, title: 'Blind pairs', parts: [part] }),
    'seal',
  );
  const pour = await steward.caller.ok<PourView>('GET', `/api/sessions/${session.id}/pour`);
  const sorts = sortsOf(pour);
  truth = { classes: new Map(), secrets: pour.samples.map(({ id }) => id) };
  await look('sealed');
  for (const { cups } of pour.samples) {
    await steward.caller.ok('POST', `/api/sessions/${session.id}/pour/ticks`, {
      servingIds: cups.map(({ servingId }) => servingId),
      poured: true,
    });
    await look('poured');
  }
  session = await moved(host, session, 'open');
  for (let seat = 1; seat <= SEATS; seat += 1) tablets.push(await seated(server.app, session, seat));
  for (const [index, tablet] of tablets.entries()) {
    const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
    for (const tray of trays) {
      const sort = sorts.get(`${index + 1}/${tray.trayNumber}`) ?? '';
      truth.classes.set(`id:${tray.id}`, sort).set(`trayId:${tray.id}`, sort);
      // Which of both trays differs is as much to be kept.
      if (tray.trayNumber === 1)
        truth.classes.set(`seat:${index + 1}`, sort).set(`number:${index + 1}`, sort);
      const codes = tray.servings.map(({ code }) => code);
      for (const code of codes) truth.classes.set(`code:${code}`, sort);
      const answer = {
        kind: 'choice',
        chosen: sort === 'differ' ? codes : [],
        confidence: 'certain',
        descriptors: [],
      };
      await tablet.ok('POST', '/api/seat/ballots', {
        id: ballotId(),
        trayId: tray.id,
        part: 1,
        sheet: 1,
        answer,
        comment: '',
      });
    }
    await look(`after seat ${index + 1}`);
  }
  session = await moved(host, session, 'close');
  await look('closed');
});
afterAll(() => server.close());

describe('before the reveal of a same-different test', () => {
  test('both sorts of pairs stand at every seat, one of each', () => {
    const sorts = [...truth.classes].filter(([key]) => key.startsWith('trayId:')).map(([, sort]) => sort);
    expect(sorts.filter((sort) => sort === 'differ')).toHaveLength(SEATS);
    expect(sorts).toHaveLength(2 * SEATS);
    expect(
      new Set([...truth.classes].filter(([key]) => key.startsWith('seat:')).map(([, s]) => s)).size,
    ).toBe(2);
  });

  test('nothing a host gets goes with the sort of a pair', () => {
    const heard = seen.filter(({ who }) => who === 'host');
    expect(heard.length).toBeGreaterThan(30);
    for (const { what, body } of heard) {
      const secrets = what.startsWith('/announcement') ? [] : truth.secrets;
      expect(findLeaks(body, { ...truth, secrets }), what).toEqual([]);
    }
  });

  test('nothing an assessor gets names an arm or a sample, nor the sort of a pair', () => {
    const names = [...trial.arms.flatMap(({ id, name }) => [id, name]), ...truth.secrets];
    for (const { what, body } of seen.filter(({ who }) => who === 'assessor')) {
      const text = JSON.stringify(body);
      expect(
        names.filter((name) => text.includes(name)),
        what,
      ).toEqual([]);
    }
    // Before they answer, all trays read alike but for ids and codes.
    const [first] = seen.filter(({ who, what }) => who === 'assessor' && what === 'after seat 1');
    const open = (first?.body as SeatView).trays;
    expect(open.map(({ servings }) => servings.map(({ mark }) => mark))).toEqual(
      open.map(() => [null, null]),
    );
  });

  test('a planted sort is found', () => {
    const planted = [...truth.classes]
      .filter(([key]) => key.startsWith('trayId:'))
      .map(([key, sort]) => ({ trayId: key.slice('trayId:'.length), cups: sort === 'differ' ? 2 : 1 }));
    expect(findLeaks(planted, { ...truth, secrets: [] })).not.toEqual([]);
  });
});
