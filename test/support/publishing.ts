import { problemDocument, type ProblemName } from '@oddglass/shared/contracts/problem.ts';
import { expect } from 'vitest';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { PublicationView, PublishInput } from '@oddglass/shared/contracts/publishing.ts';
import type { Consent, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionSettings, SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { Caller, draft, moved, newTrial, receiptOf, seated, type Hosted, type TestServer } from './app.ts';
import { ballotFor, oddCodes } from './factories.ts';

/** Somebody at the table: answers right, wrong or not at all, and what they agree to; null: they were not asked. */
export interface Guest {
  answer: 'r' | 'w' | '-';
  consent?: Consent | null;
  comment?: string;
}

export const YES: Consent = { rows: true, smallGroup: true };

/** So many guests, every third of them wrong, who all agree to everything. */
export const guests = (count: number, consent: Consent | null = YES): Guest[] =>
  Array.from({ length: count }, (_, index) => ({ answer: index % 3 === 2 ? 'w' : 'r', consent }));

export interface Evening {
  trial: TrialView;
  session: SessionView;
  /** Holders of receipts, by seat from 0. */
  receipts: Caller[];
  tablets: Caller[];
}

/** An evening with one triangle each, tasted and revealed, of a trial of its own unless one is given. */
export async function playedEvening(
  server: TestServer,
  { host, steward }: { host: Hosted; steward: Hosted },
  table: readonly Guest[],
  change: Partial<SessionSettings> = {},
  given?: TrialView,
): Promise<Evening> {
  const trial = given ?? (await newTrial(host));
  const settings = { assessors: table.length, spareSeats: 0, ...change };
  const session = await moved(host, await draft(host, trial, settings), 'seal', 'open');
  const odd = oddCodes(await steward.caller.ok<PourView>('GET', `/api/sessions/${session.id}/pour`));
  const receipts: Caller[] = [];
  const tablets: Caller[] = [];
  for (const [index, { answer, consent = null, comment = '' }] of table.entries()) {
    const tablet = await seated(server.app, session, index + 1);
    tablets.push(tablet);
    const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
    if (consent) await tablet.ok('POST', '/api/seat/consent', consent);
    const [tray] = trays;
    const right = odd.get(`${index + 1}/1`) ?? '';
    const wrong = tray?.servings.find(({ code }) => code !== right)?.code ?? '';
    if (tray && answer !== '-') {
      await tablet.ok(
        'POST',
        '/api/seat/ballots',
        ballotFor(tray, answer === 'r' ? right : wrong, { comment }),
      );
    }
    receipts.push(await receiptOf(tablet));
  }
  return { trial, session: await moved(host, session, 'close', 'reveal'), receipts, tablets };
}

export function publishing(
  trial: TrialView,
  sessions: readonly SessionView[],
  change: Partial<PublishInput> = {},
): PublishInput {
  return {
    sessionIds: sessions.map(({ id }) => id),
    title: 'Cool against warm',
    licence: 'CC-BY-4.0',
    armNames: Object.fromEntries(trial.arms.map(({ id, name }) => [id, name])),
    comments: [],
    caveatAnswers: [],
    record: { include: true, texts: [] },
    agreeSmall: false,
    ...change,
  };
}

export const publish = (
  host: Hosted,
  { trial, session }: Evening,
  change: Partial<PublishInput> & { address?: string; listed?: boolean } = {},
): Promise<PublicationView> =>
  host.caller.ok('POST', `/api/trials/${trial.id}/publications`, {
    ...publishing(trial, [session]),
    ...change,
  });

/** Pointers of the errors in an answer that has to be this problem. */
export function expectProblem(
  answer: { status: number; body: unknown },
  name: ProblemName,
  status: number,
): string[] {
  const document = problemDocument.parse(answer.body);
  expect([document.type, answer.status]).toEqual([`/problems/${name}`, status]);
  return (document.errors ?? []).map(({ pointer }) => pointer);
}
