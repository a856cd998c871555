import { setTimeout as wait } from 'node:timers/promises';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import {
  ballotsOf,
  faultEvening,
  faultHost,
  settled,
  storedOf,
  type FaultClient,
  type FaultHost,
} from './fault-client.ts';
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
    const host = await faultHost(service);
    for (let evening = 0; evening < evenings; evening++)
      await playEvening(host, killsPerEvening, random, report);
  } finally {
    await service.remove();
  }
  return report;
}

async function playEvening(
  hosted: FaultHost,
  kills: number,
  random: () => number,
  report: FaultReport,
): Promise<void> {
  const { host } = hosted;
  const { session, tablets } = await faultEvening(hosted, TABLETS, TRAYS);
  const ledger = new Map<string, string>();
  const killing = killAtTimes(host.service, kills, random, report);
  await Promise.all(tablets.map((tablet) => submitTrays(tablet, random, ledger)));
  await killing;

  // What is stored is read after one more crash and restart, from each seat's own view.
  await host.service.killEverything();
  await host.service.start();
  const { lost, changed } = settled(ledger, await storedOf(tablets));
  report.lost += lost;
  report.changed += changed;
  report.acknowledged += ledger.size;
  report.sentAgain += tablets.reduce((sum, { sentAgain }) => sum + sentAgain, 0);

  await host.ask('POST', `/api/sessions/${session}/close`, {});
  await host.ask('POST', `/api/sessions/${session}/reveal`, {});
  const result = await host.ask<ResultDocument>('GET', `/api/sessions/${session}/result`);
  const answers = result.parts[0]?.served.answers ?? 0;
  report.changed += Math.abs(answers - ledger.size);
}

async function submitTrays(
  tablet: FaultClient,
  random: () => number,
  ledger: Map<string, string>,
): Promise<void> {
  for (const ballot of await ballotsOf(tablet, random)) {
    await wait(50 + random() * 700);
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
