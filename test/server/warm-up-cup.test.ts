import { openDb } from '@oddglass/db/client.ts';
import { listEvents } from '@oddglass/db/queries/event.ts';
import { listKeyedServings, listSamples } from '@oddglass/db/queries/key.ts';
import type { Board } from '@oddglass/shared/contracts/board.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import { expect, test } from 'vitest';
import { draft, moved, newTrial, seated, usePanel, type Hosted, type TestServer } from '../support/app.ts';

// Everybody's first cup is a warm-up of an arm that the host chose: its code at a seat would name that arm.

let server: TestServer;
let host: Hosted;
usePanel((panel) => ({ server, host } = panel));

test.each(['tasting', 'answering'] as const)(
  'a board never tells the code of a warm-up: %s',
  async (step) => {
    const trial = await newTrial(host);
    const [first, second] = trial.arms.map(({ id }) => id) as [string, string];
    const flight = { cups: 'own', replicates: 1, cupsEach: null, alpha: 0.05 } as const;
    const session = await moved(
      host,
      await draft(host, trial, {
        assessors: 3,
        spareSeats: 0,
        parts: [
          {
            kind: 'rating',
            ...flight,
            samples: [
              { armId: first, role: 'warm-up', spike: null },
              { armId: first, role: 'sample', spike: null },
              { armId: second, role: 'sample', spike: null },
            ],
            attributes: [{ id: 'sourness', name: 'sourness', low: 'none', high: 'strong' }],
            scale: 'line',
            by: 'sample',
            returning: false,
          },
          { kind: 'liking', ...flight, cups: 'before', samples: [] },
        ],
      }),
      'seal',
      'open',
    );
    const onBoard: (string | null)[] = [];
    let cups = 0;
    for (const seat of [1, 2, 3]) {
      const tablet = await seated(server.app, session, seat);
      const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
      for (const { trayNumber, sheets, servings } of trays) {
        cups = servings.length;
        for (const { part, sheet, codes } of sheets) {
          const position = servings.find(({ code }) => code === codes[0])?.position ?? null;
          await tablet.ok('POST', '/api/seat/progress', {
            trayNumber,
            part,
            sheet,
            step,
            position: step === 'tasting' ? position : null,
          });
          const board = await host.caller.ok<Board>('GET', `/api/sessions/${session.id}/board`);
          onBoard.push(board.seats[seat - 1]?.code ?? null);
        }
      }
    }
    const db = openDb(server.database.pool);
    const warmUp = (await listSamples(db, session.id)).find(({ role }) => role === 'warm-up')?.id;
    const servings = await listKeyedServings(db, session.id);
    const [warm, others] = [true, false].map((isWarm) =>
      servings.filter(({ sampleId }) => (sampleId === warmUp) === isWarm).map(({ code }) => code),
    ) as [string[], string[]];
    expect([cups, warm.length, others.length]).toEqual([3, 3, 6]);
    const told = (await listEvents(db, session.id)).flatMap(({ event }) =>
      event.kind === 'progress' ? [event.code] : [],
    );
    // Of two parts on the same cups, and of all others the code is told as before.
    expect(new Set(told)).toEqual(new Set([null, ...others]));
    expect(new Set(onBoard)).toEqual(new Set([null, ...others]));
  },
);
