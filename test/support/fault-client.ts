import { setTimeout as wait } from 'node:timers/promises';
import type { ActorView } from '@oddglass/shared/contracts/account.ts';
import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { SeatTaken, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import {
  foundFit,
  ballotFor,
  ballotId,
  PASSPHRASE,
  settings,
  trialInput,
  trianglePart,
} from './factories.ts';
import type { Service } from './service.ts';

/** Somebody who asks a service that may be struck at any time, and keeps count of what came back. */
export class FaultClient {
  readonly service: Service;
  cookie: string | undefined;
  seatToken: string | undefined;
  /** The address that a proxy tells of it; undefined: it comes from the machine itself. */
  from: string | undefined;
  sentAgain = 0;
  /** Refusals with 503 and Retry-After, other ones of the server's own making, and requests without an answer. */
  refused = 0;
  refusedOtherwise = 0;
  unanswered = 0;
  /** Longest time a request was tried again and again, in ms. */
  waited = 0;

  constructor(service: Service) {
    this.service = service;
  }

  /** Asks until an answer comes: what is not acknowledged is sent again as it was. */
  async ask<T>(method: string, path: string, body?: unknown): Promise<T> {
    const started = performance.now();
    for (let attempt = 0; attempt < 1_200; attempt++) {
      if (attempt > 0) this.sentAgain += 1;
      const response = await fetch(this.service.address + path, {
        method,
        headers: {
          ...(body !== undefined && { 'content-type': 'application/json' }),
          ...(this.cookie && { cookie: this.cookie }),
          ...(this.seatToken && { authorization: `Bearer ${this.seatToken}` }),
          ...(this.from && { 'x-forwarded-for': this.from }),
        },
        body: body === undefined ? null : JSON.stringify(body),
      }).catch(() => undefined);
      const text = await response?.text().catch(() => undefined);
      if (response && text !== undefined && response.status < 500) {
        if (attempt > 0) this.waited = Math.max(this.waited, performance.now() - started);
        const [set] = response.headers.getSetCookie();
        if (set) this.cookie = set.split(';')[0];
        if (!response.ok) throw new Error(`${method} ${path}: ${response.status} ${text}`);
        return JSON.parse(text) as T;
      }
      if (!response || text === undefined) this.unanswered += 1;
      else if (response.status === 503 && response.headers.has('retry-after')) this.refused += 1;
      else this.refusedOtherwise += 1;
      await wait(100);
    }
    throw new Error(`${method} ${path} was never answered`);
  }
}

export interface FaultHost {
  host: FaultClient;
  trial: TrialView;
  panel: string;
}

/** The first host of a fresh service, with a trial that has liquid for many evenings. */
export async function faultHost(service: Service): Promise<FaultHost> {
  const host = new FaultClient(service);
  const actor = await host.ask<ActorView>('POST', '/api/first-host', {
    token: await service.firstHostToken(),
    panel: 'Faults',
    name: 'Host',
    passphrase: PASSPHRASE,
  });
  const panel = actor.panels[0]?.id ?? '';
  const input = trialInput();
  const trial = await host.ask<TrialView>('POST', `/api/panels/${panel}/trials`, {
    ...input,
    arms: input.arms.map((arm) => ({ ...arm, volumeMl: 90_000 })),
  });
  await foundFit((method, path, body) => host.ask(method, path, body), trial);
  return { host, trial, panel };
}

export interface FaultEvening {
  session: string;
  /** The way in of the QR. */
  joinToken: string;
  tablets: FaultClient[];
}

/** An open triangle test whose seats are all taken. */
export async function faultEvening(
  { host, trial }: FaultHost,
  seats: number,
  trays: number,
): Promise<FaultEvening> {
  const draft = await host.ask<SessionView>(
    'POST',
    `/api/trials/${trial.id}/sessions`,
    settings(trial, {
      assessors: seats,
      spareSeats: 0,
      parts: [trianglePart(trial, { replicates: trays })],
    }),
  );
  await host.ask('POST', `/api/sessions/${draft.id}/seal`, {});
  const { join } = await host.ask<SessionView>('POST', `/api/sessions/${draft.id}/open`, {});
  const tablets = await Promise.all(
    Array.from({ length: seats }, async (_, index) => {
      const tablet = new FaultClient(host.service);
      const { seatToken } = await tablet.ask<SeatTaken>('POST', '/api/join/seat', {
        token: join?.token,
        seat: index + 1,
      });
      tablet.seatToken = seatToken;
      await tablet.ask('POST', '/api/seat/cautions', {});
      return tablet;
    }),
  );
  return { session: draft.id, joinToken: join?.token ?? '', tablets };
}

/** A whole session of these parts, tasted by so many and revealed; `answer` says what each sheet gets. Its id. */
export async function playFaultSession(
  { host, trial }: FaultHost,
  parts: Part[],
  people: number,
  answer: (sheet: SeatView['trays'][number]['sheets'][number]) => Answer,
): Promise<string> {
  const change = { assessors: people, spareSeats: 0, cupMl: 20, parts };
  const draft = await host.ask<SessionView>(
    'POST',
    `/api/trials/${trial.id}/sessions`,
    settings(trial, change),
  );
  await host.ask('POST', `/api/sessions/${draft.id}/seal`, {});
  const { join } = await host.ask<SessionView>('POST', `/api/sessions/${draft.id}/open`, {});
  for (let seat = 1; seat <= people; seat++) {
    const tablet = new FaultClient(host.service);
    const body = { token: join?.token, seat };
    tablet.seatToken = (await tablet.ask<SeatTaken>('POST', '/api/join/seat', body)).seatToken;
    await tablet.ask('POST', '/api/seat/cautions', {});
    await tablet.ask('POST', '/api/seat/consent', { rows: true, smallGroup: true });
    const { trays } = await tablet.ask<SeatView>('GET', '/api/seat');
    for (const tray of trays) {
      for (const sheet of tray.sheets) {
        const { part, sheet: number } = sheet;
        const ballot = {
          id: ballotId(),
          trayId: tray.id,
          part,
          sheet: number,
          answer: answer(sheet),
          comment: '',
        };
        await tablet.ask('POST', '/api/seat/ballots', ballot);
      }
    }
  }
  await host.ask('POST', `/api/sessions/${draft.id}/close`, {});
  await host.ask('POST', `/api/sessions/${draft.id}/reveal`, {});
  return draft.id;
}

/** A ballot for each tray of a seat; `random` (0 to 1) chooses. */
export async function ballotsOf(
  tablet: FaultClient,
  random: () => number,
): Promise<ReturnType<typeof ballotFor>[]> {
  const { trays } = await tablet.ask<SeatView>('GET', '/api/seat');
  return trays.map((tray) => ballotFor(tray, tray.servings[Math.floor(random() * 3)]?.code ?? ''));
}

/** What each seat sees stored, by ballot id: once each, if all is well. */
export async function storedOf(tablets: readonly FaultClient[]): Promise<Map<string, string[]>> {
  const stored = new Map<string, string[]>();
  for (const tablet of tablets) {
    const { trays } = await tablet.ask<SeatView>('GET', '/api/seat');
    for (const { ballot } of trays.flatMap(({ sheets }) => sheets)) {
      if (ballot) stored.set(ballot.id, [...(stored.get(ballot.id) ?? []), JSON.stringify(ballot)]);
    }
  }
  return stored;
}

/** Holds the acknowledgements against what is stored. */
export function settled(
  ledger: ReadonlyMap<string, string>,
  stored: ReadonlyMap<string, string[]>,
): { lost: number; changed: number } {
  const found = [...ledger].filter(([id]) => stored.has(id));
  const changed = found.filter(([id, told]) => stored.get(id)?.length !== 1 || stored.get(id)?.[0] !== told);
  const strange = [...stored.keys()].filter((id) => !ledger.has(id));
  return { lost: ledger.size - found.length, changed: changed.length + strange.length };
}
