import { setTimeout as wait } from 'node:timers/promises';
import { isDeepStrictEqual } from 'node:util';
import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { ActorView } from '@oddglass/shared/contracts/account.ts';
import type { SeatTaken, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { Cluster, queryOnce } from './cluster.ts';
import { foundFit, ballotFor, PASSPHRASE, settings, trialInput, trianglePart } from './factories.ts';
import { Service } from './service.ts';

export type OutageKind = 'worker' | 'terminate' | 'restart' | 'stop' | 'freeze';

export interface OutageReport {
  kind: OutageKind;
  acknowledged: number;
  /** Rows of the table. */
  stored: number;
  /** Acknowledged and not there, or there more than once or otherwise. */
  lost: number;
  changed: number;
  /** Answers 503 as they should be, and every other failure. */
  away: number;
  /** 503 without Retry-After, or not the problem document. */
  malformed: number;
  otherFailures: string[];
  /** The server's process is the one that was started. */
  sameProcess: boolean;
  logLines: number;
  /** From the fault to the last failure that a seat saw; null when none saw any. */
  outageMs: number | null;
  /** From the moment the database took connections again to the last failure, and to the next acknowledgement. */
  lastFailureAfterMs: number | null;
  nextAcknowledgedAfterMs: number;
  slowestAnswerMs: number;
}

const SEATS = 30;
const PARTS = 3;
const TRAYS_A_PART = 4;
const PATIENCE_MS = 20_000;
const AGAIN_MS = 250;

interface Watch {
  failures: number[];
  acknowledgements: number[];
  away: number;
  malformed: number;
  other: string[];
  slowestMs: number;
}

/** Somebody who asks again until there is an answer, and writes down what happened meanwhile. */
class Asker {
  readonly #service: Service;
  readonly #watch: Watch;
  cookie: string | undefined;
  seatToken: string | undefined;

  constructor(service: Service, watch: Watch) {
    this.#service = service;
    this.#watch = watch;
  }

  async ask<T>(method: string, path: string, body?: unknown): Promise<T> {
    for (let attempt = 0; attempt < 1_000; attempt++) {
      const sent = performance.now();
      const answer = await this.#once(method, path, body).catch((error: unknown) => String(error));
      const now = performance.now();
      this.#watch.slowestMs = Math.max(this.#watch.slowestMs, now - sent);
      if (typeof answer !== 'string' && answer.status < 500) {
        if (answer.status !== 200) throw new Error(`${method} ${path}: ${answer.status} ${answer.text}`);
        return JSON.parse(answer.text) as T;
      }
      this.#watch.failures.push(now);
      if (typeof answer === 'string') this.#watch.other.push(answer);
      else if (answer.status !== 503) this.#watch.other.push(`${answer.status} ${answer.text}`);
      else if (answer.retryAfter === '2' && answer.text.includes('"/problems/database-away"'))
        this.#watch.away += 1;
      else this.#watch.malformed += 1;
      if (!this.#service.runs) throw new Error(`the server ended:\n${this.#service.output}`);
      await wait(AGAIN_MS);
    }
    throw new Error(`${method} ${path} was never answered`);
  }

  async #once(method: string, path: string, body: unknown) {
    const response = await fetch(this.#service.address + path, {
      method,
      headers: {
        ...(body !== undefined && { 'content-type': 'application/json' }),
        ...(this.cookie && { cookie: this.cookie }),
        ...(this.seatToken && { authorization: `Bearer ${this.seatToken}` }),
      },
      body: body === undefined ? null : JSON.stringify(body),
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    const [set] = response.headers.getSetCookie();
    if (set) this.cookie = set.split(';')[0];
    return {
      status: response.status,
      retryAfter: response.headers.get('retry-after'),
      text: await response.text(),
    };
  }
}

/**
 * Thirty seats submit while the database goes away for `awayMs` (a kill or an end of connections: as often as
 * `times`, a second apart); afterwards what was acknowledged is compared with the table and with what each seat sees.
 * `bin` names the programs of the outside PostgreSQL; without it they are those that come with the server.
 */
export async function runOutage(
  kind: OutageKind,
  options: { awayMs: number; times: number; bin?: string | undefined; random: () => number },
): Promise<OutageReport> {
  const cluster = kind === 'worker' ? null : await Cluster.start(options.bin);
  const service = await Service.inNewFolder(cluster?.url);
  try {
    await service.start();
    return await playOutage(kind, options, service, cluster);
  } finally {
    await service.remove();
    await cluster?.remove();
  }
}

async function playOutage(
  kind: OutageKind,
  { awayMs, times, random }: { awayMs: number; times: number; random: () => number },
  service: Service,
  cluster: Cluster | null,
): Promise<OutageReport> {
  const watch: Watch = { failures: [], acknowledgements: [], away: 0, malformed: 0, other: [], slowestMs: 0 };
  const databaseUrl = cluster?.url ?? service.ownDatabaseUrl();
  const seats = await openSession(service, watch);
  const ledger = new Map<string, { sent: object; receipt: BallotReceipt }>();
  watch.slowestMs = 0;
  const submitting = Promise.all(seats.map((seat) => submit(seat, watch, ledger, random)));
  // Awaited below; until then a failure of it must not end this process before everything is cleared away.
  submitting.catch(() => undefined);
  await wait(1_000);
  const began = performance.now();
  for (let time = 0; time < times; time++) {
    if (time > 0) await wait(1_000);
    await strike(kind, awayMs, databaseUrl, cluster);
  }
  const back = performance.now();
  await submitting;

  const rows = await queryOnce<{ id: string; answer: object; comment: string }>(
    databaseUrl,
    'select id, answer, comment from ballot',
  );
  const report: OutageReport = {
    kind,
    acknowledged: ledger.size,
    stored: rows.length,
    lost: 0,
    changed: 0,
    away: watch.away,
    malformed: watch.malformed,
    otherFailures: [...new Set(watch.other)],
    sameProcess: service.runs,
    logLines: service.output.split('\n').filter((line) => line.startsWith('{')).length,
    outageMs: watch.failures.length > 0 ? Math.round(Math.max(...watch.failures) - began) : null,
    lastFailureAfterMs: watch.failures.length > 0 ? Math.round(Math.max(...watch.failures) - back) : null,
    nextAcknowledgedAfterMs: Math.round(
      Math.min(...watch.acknowledgements.filter((at) => at >= back)) - back,
    ),
    slowestAnswerMs: Math.round(watch.slowestMs),
  };
  const seen = new Map<string, BallotReceipt>();
  for (const seat of seats) {
    const { trays } = await seat.ask<SeatView>('GET', '/api/seat');
    for (const { ballot } of trays.flatMap(({ sheets }) => sheets)) if (ballot) seen.set(ballot.id, ballot);
  }
  for (const [id, { sent, receipt }] of ledger) {
    const found = rows.filter((row) => row.id === id);
    if (found.length === 0) report.lost += 1;
    else if (found.length > 1 || !isDeepStrictEqual(seen.get(id), receipt)) report.changed += 1;
    else if (
      !Object.entries(found[0]!).every(([name, value]) => isDeepStrictEqual(Reflect.get(sent, name), value))
    )
      report.changed += 1;
  }
  report.changed += rows.filter(({ id }) => !ledger.has(id)).length;
  report.sameProcess &&= service.runs;
  return report;
}

async function openSession(service: Service, watch: Watch): Promise<Asker[]> {
  const host = new Asker(service, watch);
  const actor = await host.ask<ActorView>('POST', '/api/first-host', {
    token: await service.firstHostToken(),
    panel: 'Outages',
    name: 'Host',
    passphrase: PASSPHRASE,
  });
  const trial = await host.ask<TrialView>('POST', `/api/panels/${actor.panels[0]?.id}/trials`, trialInput());
  await foundFit((method, path, body) => host.ask(method, path, body), trial);
  const part = trianglePart(trial, { replicates: TRAYS_A_PART });
  const parts = Array.from({ length: PARTS }, () => part);
  const change = { assessors: SEATS, spareSeats: 0, cupMl: 10, parts };
  const draft = await host.ask<SessionView>(
    'POST',
    `/api/trials/${trial.id}/sessions`,
    settings(trial, change),
  );
  await host.ask('POST', `/api/sessions/${draft.id}/seal`, {});
  const { join } = await host.ask<SessionView>('POST', `/api/sessions/${draft.id}/open`, {});
  const seats: Asker[] = [];
  for (let number = 1; number <= SEATS; number++) {
    const seat = new Asker(service, watch);
    const taken = await seat.ask<SeatTaken>('POST', '/api/join/seat', { token: join?.token, seat: number });
    seat.seatToken = taken.seatToken;
    await seat.ask('POST', '/api/seat/cautions', {});
    seats.push(seat);
  }
  return seats;
}

async function submit(
  seat: Asker,
  watch: Watch,
  ledger: Map<string, { sent: object; receipt: BallotReceipt }>,
  random: () => number,
): Promise<void> {
  const { trays } = await seat.ask<SeatView>('GET', '/api/seat');
  for (const tray of trays) {
    await wait(50 + random() * 600);
    const odd = tray.servings[Math.floor(random() * 3)]?.code ?? '';
    const sent = ballotFor(tray, odd, { part: tray.part });
    const receipt = await seat.ask<BallotReceipt>('POST', '/api/seat/ballots', sent);
    watch.acknowledgements.push(performance.now());
    ledger.set(sent.id, { sent, receipt });
  }
}

/** Returns when the database takes connections again. */
async function strike(
  kind: OutageKind,
  awayMs: number,
  databaseUrl: string,
  cluster: Cluster | null,
): Promise<void> {
  const others =
    "from pg_stat_activity where backend_type = 'client backend' and pid <> pg_backend_pid() and application_name like 'oddglass%'";
  if (kind === 'worker') {
    const [worker] = await queryOnce<{ pid: number }>(
      databaseUrl,
      `select pid ${others} order by random() limit 1`,
    );
    if (!worker) throw new Error('no worker to kill');
    process.kill(worker.pid, 'SIGKILL');
    await untilReady(databaseUrl);
  } else if (kind === 'terminate') await queryOnce(databaseUrl, `select pg_terminate_backend(pid) ${others}`);
  else if (kind === 'freeze') {
    cluster?.signalAll('SIGSTOP');
    await wait(awayMs);
    cluster?.signalAll('SIGCONT');
  } else {
    await cluster?.stop();
    if (kind === 'stop') await wait(awayMs);
    await cluster?.resume();
  }
}

async function untilReady(databaseUrl: string): Promise<void> {
  // The postmaster takes a moment to notice the worker's end.
  await wait(100);
  for (let waited = 0; waited < 60_000; waited += 20) {
    const ready = await queryOnce(databaseUrl, 'select 1').then(
      () => true,
      () => false,
    );
    if (ready) return;
    await wait(20);
  }
  throw new Error('the database did not come back');
}
