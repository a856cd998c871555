import { setTimeout as wait } from 'node:timers/promises';
import type { ActorView, InvitationView } from '@oddglass/shared/contracts/account.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SeatTaken, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { ballotFor, PASSPHRASE, settings, trialInput, trianglePart } from './factories.ts';
import { Service } from './service.ts';

export interface FaultReport {
  kills: number;
  /** Ballots the service acknowledged, each by the tablet that sent it. */
  acknowledged: number;
  /** Acknowledged and not there afterwards. */
  lost: number;
  /** Stored otherwise than acknowledged, or more than once. */
  changed: number;
  /** Sent without an acknowledgement and sent again: settled by the second answer. */
  sentAgain: number;
}

const TABLETS = 12;
const TRAYS = 4;

class Client {
  readonly service: Service;
  cookie: string | undefined;
  seatToken: string | undefined;
  sentAgain = 0;

  constructor(service: Service) {
    this.service = service;
  }

  /** Asks until an answer comes: what is not acknowledged is sent again as it was. */
  async ask<T>(method: string, path: string, body?: unknown): Promise<T> {
    for (let attempt = 0; attempt < 600; attempt++) {
      if (attempt > 0) this.sentAgain += 1;
      const response = await fetch(this.service.address + path, {
        method,
        headers: {
          ...(body !== undefined && { 'content-type': 'application/json' }),
          ...(this.cookie && { cookie: this.cookie }),
          ...(this.seatToken && { authorization: `Bearer ${this.seatToken}` }),
        },
        body: body === undefined ? null : JSON.stringify(body),
      }).catch(() => undefined);
      const text = await response?.text().catch(() => undefined);
      if (response && text !== undefined && response.status < 500) {
        const [set] = response.headers.getSetCookie();
        if (set) this.cookie = set.split(';')[0];
        if (!response.ok) throw new Error(`${method} ${path}: ${response.status} ${text}`);
        return JSON.parse(text) as T;
      }
      await wait(100);
    }
    throw new Error(`${method} ${path} was never answered`);
  }
}

/**
 * Evenings of twelve tablets submitting while everything is killed: the set of acknowledged ballots must equal
 * what is stored, each once. `random` (0 to 1) spreads the kills.
 */
export async function runFaults(
  evenings: number,
  killsPerEvening: number,
  random: () => number,
): Promise<FaultReport> {
  const report: FaultReport = { kills: 0, acknowledged: 0, lost: 0, changed: 0, sentAgain: 0 };
  const service = await Service.inNewFolder();
  await service.start();
  try {
    const host = new Client(service);
    const token = await service.firstHostToken();
    const actor = await host.ask<ActorView>('POST', '/api/first-host', {
      token,
      panel: 'Faults',
      name: 'Host',
      passphrase: PASSPHRASE,
    });
    const panel = actor.panels[0]?.id ?? '';
    const trial = await host.ask<TrialView>('POST', `/api/panels/${panel}/trials`, trialInput());
    await host.ask<InvitationView>('POST', `/api/panels/${panel}/invitations`, { role: 'steward' });
    for (let evening = 0; evening < evenings; evening++)
      await playEvening(service, host, trial, killsPerEvening, random, report);
  } finally {
    await service.remove();
  }
  return report;
}

async function playEvening(
  service: Service,
  host: Client,
  trial: TrialView,
  kills: number,
  random: () => number,
  report: FaultReport,
): Promise<void> {
  const draft = await host.ask<SessionView>(
    'POST',
    `/api/trials/${trial.id}/sessions`,
    settings(trial, {
      assessors: TABLETS,
      spareSeats: 0,
      parts: [trianglePart(trial, { replicates: TRAYS })],
    }),
  );
  await host.ask('POST', `/api/sessions/${draft.id}/seal`, {});
  const { join } = await host.ask<SessionView>('POST', `/api/sessions/${draft.id}/open`, {});
  const tablets = await Promise.all(
    Array.from({ length: TABLETS }, async (_, index) => {
      const tablet = new Client(service);
      const { seatToken } = await tablet.ask<SeatTaken>('POST', '/api/join/seat', {
        token: join?.token,
        seat: index + 1,
      });
      tablet.seatToken = seatToken;
      await tablet.ask('POST', '/api/seat/cautions', {});
      return tablet;
    }),
  );

  const ledger = new Map<string, string>();
  const killing = killAtTimes(service, kills, random, report);
  await Promise.all(tablets.map((tablet) => submitTrays(tablet, random, ledger)));
  await killing;

  // What is stored is read after one more crash and restart, from each seat's own view.
  await service.killEverything();
  await service.start();
  const stored = new Map<string, string[]>();
  for (const tablet of tablets) {
    const { trays } = await tablet.ask<SeatView>('GET', '/api/seat');
    for (const { ballot } of trays.flatMap(({ sheets }) => sheets)) {
      if (ballot) stored.set(ballot.id, [...(stored.get(ballot.id) ?? []), JSON.stringify(ballot)]);
    }
  }
  for (const [id, acknowledged] of ledger) {
    const found = stored.get(id);
    if (!found) report.lost += 1;
    else if (found.length !== 1 || found[0] !== acknowledged) report.changed += 1;
  }
  report.changed += [...stored.keys()].filter((id) => !ledger.has(id)).length;
  report.acknowledged += ledger.size;
  report.sentAgain += tablets.reduce((sum, { sentAgain }) => sum + sentAgain, 0);

  await host.ask('POST', `/api/sessions/${draft.id}/close`, {});
  await host.ask('POST', `/api/sessions/${draft.id}/reveal`, {});
  const result = await host.ask<ResultDocument>('GET', `/api/sessions/${draft.id}/result`);
  const answers = result.parts[0]?.served.answers ?? 0;
  report.changed += Math.abs(answers - ledger.size);
}

async function submitTrays(tablet: Client, random: () => number, ledger: Map<string, string>): Promise<void> {
  const { trays } = await tablet.ask<SeatView>('GET', '/api/seat');
  for (const tray of trays) {
    await wait(50 + random() * 700);
    const ballot = ballotFor(tray, tray.servings[Math.floor(random() * 3)]?.code ?? '');
    ledger.set(ballot.id, JSON.stringify(await tablet.ask('POST', '/api/seat/ballots', ballot)));
  }
}

async function killAtTimes(
  service: Service,
  kills: number,
  random: () => number,
  report: FaultReport,
): Promise<void> {
  for (let kill = 0; kill < kills; kill++) {
    await wait(150 + random() * 500);
    await service.killEverything();
    report.kills += 1;
    await service.start();
  }
}
