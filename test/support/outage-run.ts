import { setTimeout as wait } from 'node:timers/promises';
import pg from 'pg';
import { ballotsOf, faultEvening, faultHost, settled, storedOf, type FaultClient } from './fault-client.ts';
import { OutsidePostgres } from './outside-postgres.ts';
import { Service } from './service.ts';

export interface OutageReport {
  outage: string;
  /** Ballots acknowledged to the 30 seats, and how many of them are stored otherwise, or not at all. */
  acknowledged: number;
  lost: number;
  changed: number;
  /** Requests refused with 503 and Retry-After meanwhile; those that got another refusal or none. */
  refused: number;
  refusedOtherwise: number;
  unanswered: number;
  /** Longest time after the blow in which nobody was acknowledged, and that one seat tried again and again, in ms. */
  silentMs: number;
  longestWaitMs: number;
  /** The same process of the server answers at the end. */
  sameProcess: boolean;
}

/** What happens to the database. Resolves once it is back, or is coming back by itself. */
type Blow = (service: Service, outside: OutsidePostgres | null) => Promise<void>;

const asAdmin = async (url: string, statement: string): Promise<void> => {
  const client = new pg.Client({ connectionString: url });
  client.on('error', () => undefined);
  await client.connect();
  await client.query(statement).catch(() => undefined);
  await client.end().catch(() => undefined);
};

const TERMINATE = `select pg_terminate_backend(pid) from pg_stat_activity where pid <> pg_backend_pid() and backend_type = 'client backend'`;

export const BLOWS: Readonly<Record<string, { outside: boolean; blow: (stoppedMs: number) => Blow }>> = {
  'a worker is killed': {
    outside: false,
    blow: () => async (service) => service.killWorker(),
  },
  'all connections are terminated': {
    outside: true,
    blow: () => async (_service, outside) => asAdmin(outside?.url ?? '', TERMINATE),
  },
  'an ordinary restart': {
    outside: true,
    blow: () => async (_service, outside) => {
      await outside?.stop();
      await outside?.start();
    },
  },
  'a stop': {
    outside: true,
    blow: (stoppedMs) => async (_service, outside) => {
      await outside?.stop();
      await wait(stoppedMs);
      await outside?.start();
    },
  },
};

const SEATS = 30;
const TRAYS = 4;

/**
 * An evening of thirty seats that submit while the database is struck: what was acknowledged must be stored, each once,
 * and the server must still be there. `bin`: programs of a PostgreSQL of the system; `stoppedMs`: how long a stop lasts.
 */
export async function runOutage(
  name: string,
  { bin, stoppedMs, random }: { bin: string | null; stoppedMs: number; random: () => number },
): Promise<OutageReport> {
  const chosen = BLOWS[name];
  if (!chosen) throw new Error(`no blow is called ${name}`);
  if (chosen.outside && !bin) throw new Error('this needs a PostgreSQL of the system');
  const outside = chosen.outside && bin ? await OutsidePostgres.inNewFolder(bin) : null;
  await outside?.start();
  const service = await Service.inNewFolder(outside?.url);
  try {
    await service.start();
    const { tablets } = await faultEvening(await faultHost(service), SEATS, TRAYS);
    return await strike(name, service, tablets, random, () => chosen.blow(stoppedMs)(service, outside));
  } finally {
    await service.remove();
    await outside?.remove();
  }
}

async function strike(
  outage: string,
  service: Service,
  tablets: readonly FaultClient[],
  random: () => number,
  blow: () => Promise<void>,
): Promise<OutageReport> {
  const ballots = await Promise.all(tablets.map((tablet) => ballotsOf(tablet, random)));
  const before = service.pid;
  const ledger = new Map<string, string>();
  const acknowledgedAt: number[] = [];
  const { promise: begun, resolve: begin } = Promise.withResolvers<void>();
  const submitting = tablets.map(async (tablet, seat) => {
    for (const [number, ballot] of (ballots[seat] ?? []).entries()) {
      // The first tray before the blow; the others as it falls, and after.
      if (number === 1) await begun;
      if (number > 0) await wait(random() * 400);
      ledger.set(ballot.id, JSON.stringify(await tablet.ask('POST', '/api/seat/ballots', ballot)));
      acknowledgedAt.push(performance.now());
    }
  });
  while (ledger.size < tablets.length) await wait(20);
  begin();
  await wait(150);
  const struckAt = performance.now();
  await Promise.all([...submitting, blow()]);

  const sum = (of: (tablet: FaultClient) => number): number => tablets.reduce((all, one) => all + of(one), 0);
  const after = acknowledgedAt.filter((at) => at > struckAt);
  return {
    outage,
    acknowledged: ledger.size,
    ...settled(ledger, await storedOf(tablets)),
    refused: sum(({ refused }) => refused),
    refusedOtherwise: sum(({ refusedOtherwise }) => refusedOtherwise),
    unanswered: sum(({ unanswered }) => unanswered),
    silentMs: Math.round(longestGap([struckAt, ...after])),
    longestWaitMs: Math.round(Math.max(...tablets.map(({ waited }) => waited))),
    sameProcess: service.pid === before && service.runs,
  };
}

function longestGap(moments: readonly number[]): number {
  const sorted = [...moments].sort((a, b) => a - b);
  return Math.max(0, ...sorted.map((at, index) => at - (sorted[index - 1] ?? at)));
}
