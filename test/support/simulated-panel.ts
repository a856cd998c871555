import { openDb } from '@oddglass/db/client.ts';
import { listKeyedServings, listSamples, type KeyedServing, type Sample } from '@oddglass/db/queries/key.ts';
import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { SeatView, SheetAtSeat } from '@oddglass/shared/contracts/seat.ts';
import type { SessionSettings, SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { draft, moved, seated, type Hosted, type TestServer } from './app.ts';
import { ballotId } from './factories.ts';

/** A cup as the simulation knows it: what is in it, and where it stood. */
export interface SimulatedCup {
  code: string;
  position: number;
  armId: string;
  role: Sample['role'];
  control: Sample['control'];
}

export interface Asked {
  /** Number of the seat, from 1. */
  seat: number;
  part: Part;
  sheet: SheetAtSeat;
  /** Cups the sheet asks about, left to right. */
  cups: SimulatedCup[];
  /** All cups of the tray, marked ones too. */
  tray: SimulatedCup[];
}

/** What an invented palate answers; null leaves the sheet unanswered. */
export type Palate = (asked: Asked) => Answer | null;

/** The key as it lies in the database: invented palates have to know what they are invented to find. */
export async function keyOf(
  server: TestServer,
  sessionId: string,
): Promise<{ servings: KeyedServing[]; samples: Map<string, Sample> }> {
  const db = openDb(server.database.pool);
  const samples = await listSamples(db, sessionId);
  return {
    servings: await listKeyedServings(db, sessionId),
    samples: new Map(samples.map((sample) => [sample.id, sample])),
  };
}

/** Plays a whole session over HTTP with invented palates, up to the reveal. */
export async function playSession(
  server: TestServer,
  host: Hosted,
  trial: TrialView,
  settings: Partial<SessionSettings>,
  palate: Palate,
  seats = settings.assessors ?? 12,
): Promise<SessionView> {
  const open = await moved(host, await draft(host, trial, settings), 'seal', 'open');
  await playTablets(server, open, palate, seats);
  return moved(host, open, 'close', 'reveal');
}

/** Takes every seat of an open session over HTTP and answers all its sheets with an invented palate. */
export async function playTablets(
  server: TestServer,
  open: SessionView,
  palate: Palate,
  seats: number,
): Promise<void> {
  const { servings, samples } = await keyOf(server, open.id);
  const cupOf = new Map(
    servings.map(({ trayId, code, position, armId, sampleId }) => [
      `${trayId} ${code}`,
      {
        code,
        position,
        armId,
        role: samples.get(sampleId)?.role ?? 'sample',
        control: samples.get(sampleId)?.control ?? null,
      } satisfies SimulatedCup,
    ]),
  );
  for (let seat = 1; seat <= seats; seat++) {
    const tablet = await seated(server.app, open, seat);
    const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
    for (const tray of trays) {
      const cups = tray.servings.map(({ code }) => cupOf.get(`${tray.id} ${code}`)!);
      for (const sheet of tray.sheets) {
        const asked = sheet.codes.map((code) => cups.find((cup) => cup.code === code)!);
        const part = open.settings.parts[sheet.part - 1]!;
        const answer = palate({ seat, part, sheet, cups: asked, tray: cups });
        if (answer === null) continue;
        await tablet.ok('POST', '/api/seat/ballots', {
          id: ballotId(),
          trayId: tray.id,
          part: sheet.part,
          sheet: sheet.sheet,
          answer,
          comment: '',
        });
      }
    }
  }
}
