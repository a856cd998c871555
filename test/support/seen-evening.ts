import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { InvitationView } from '@oddglass/shared/contracts/account.ts';
import type { BenchMessage } from '@oddglass/shared/contracts/live.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { SeatTaken, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { WebSocket } from 'ws';
import {
  ballotFor,
  ballotId,
  foundFit,
  PASSPHRASE,
  settings,
  trialInput,
  trianglePart,
} from './factories.ts';
import { FaultClient } from './fault-client.ts';
import type { SeenCup } from './guesser.ts';
import type { Service } from './service.ts';
import { until } from './until.ts';

// An evening over the API: a triangle and a rating of three arms at six seats, poured by a steward. What the host and the
// assessors got to see of each cup, as numbers, beside what only the key knows.

const SEATS = 6;

export interface SeenEvening {
  /** By who looked and what is asked. */
  cups: Map<string, SeenCup[]>;
}

export interface Table {
  host: FaultClient;
  steward: FaultClient;
  trial: TrialView;
}

export async function setTable(service: Service): Promise<Table> {
  const host = new FaultClient(service);
  const actor = await host.ask<{ panels: { id: string }[] }>('POST', '/api/first-host', {
    token: await service.firstHostToken(),
    panel: 'Guessers',
    name: 'Host',
    passphrase: PASSPHRASE,
  });
  const panel = actor.panels[0]?.id ?? '';
  const { token } = await host.ask<InvitationView>('POST', `/api/panels/${panel}/invitations`, {
    role: 'steward',
  });
  const steward = new FaultClient(service);
  await steward.ask('POST', '/api/invitations/accept', { token, name: 'Steward', passphrase: PASSPHRASE });
  const input = trialInput();
  const [first] = input.arms;
  const arms = [...input.arms, { ...first!, name: 'Darkvessel', differs: 'held at thirty degrees' }];
  const trial = await host.ask<TrialView>('POST', `/api/panels/${panel}/trials`, {
    ...input,
    arms: arms.map((arm) => ({ ...arm, volumeMl: 90_000 })),
  });
  return {
    host,
    steward,
    trial: await foundFit((method, path, body) => host.ask(method, path, body), trial),
  };
}

interface Told {
  at: number;
  message: BenchMessage;
}

/** Plays one evening; cups poured by bottle, by tray or in the order of the list, by turns. */
export async function seenEvening(table: Table, evening: number, chance: () => number): Promise<SeenEvening> {
  const { host, steward, trial } = table;
  const parts = [trianglePart(trial), rating(trial)];
  const draft = await host.ask<SessionView>(
    'POST',
    `/api/trials/${trial.id}/sessions`,
    settings(trial, { assessors: SEATS, spareSeats: 0, cupMl: 20, parts }),
  );
  const path = `/api/sessions/${draft.id}`;
  await host.ask('POST', `${path}/seal`, {});
  const { told, end } = await listen(host, draft.id);
  const pour = await steward.ask<PourView>('GET', `${path}/pour`);
  await pourAll(steward, path, pour, evening);
  const opened = await host.ask<SessionView>('POST', `${path}/open`, {});
  const seen: { seat: number; view: SeatView; length: number; tablet: FaultClient }[] = [];
  for (let seat = 1; seat <= SEATS; seat++) {
    const tablet = new FaultClient(host.service);
    const input = { token: opened.join?.token, seat };
    tablet.seatToken = (await tablet.ask<SeatTaken>('POST', '/api/join/seat', input)).seatToken;
    await tablet.ask('POST', '/api/seat/cautions', {});
    const view = await tablet.ask<SeatView>('GET', '/api/seat');
    seen.push({ seat, view, length: JSON.stringify(view).length, tablet });
  }
  const latency = new Map<string, number>();
  for (const { view, tablet } of seen) await taste(view, tablet, latency, chance);
  await host.ask('POST', `${path}/close`, {});
  await until('the host heard of the close', () => told.some(({ message }) => isEvent(message, 'closed')));
  end();
  return { cups: rowsOf(evening, pour, seen, told, latency) };
}

const rating = (trial: TrialView) => ({
  kind: 'rating' as const,
  cups: 'own' as const,
  samples: trial.arms.map(({ id }) => ({ armId: id, role: 'sample' as const, spike: null })),
  replicates: 1,
  alpha: 0.05,
  attributes: [{ id: 'sour', name: 'sour', low: 'not at all', high: 'extremely' }],
  scale: 'line' as const,
  by: 'sample' as const,
  returning: false,
  cupsEach: null,
});

const isEvent = (message: BenchMessage, kind: string): boolean =>
  message.type === 'event' && message.event.event.kind === kind;

async function listen(host: FaultClient, session: string): Promise<{ told: Told[]; end: () => void }> {
  const told: Told[] = [];
  const socket = new WebSocket(`${host.service.address.replace('http', 'ws')}/api/sessions/${session}/live`, {
    headers: { cookie: host.cookie ?? '' },
  });
  socket.on('message', (data: Buffer) => {
    const message = JSON.parse(data.toString()) as BenchMessage;
    told.push({ at: performance.now(), message });
  });
  await new Promise((resolve, reject) => socket.once('open', resolve).once('error', reject));
  await until('the host has the board', () => told.length > 0);
  return { told, end: () => socket.terminate() };
}

async function pourAll(steward: FaultClient, path: string, pour: PourView, evening: number): Promise<void> {
  const all = pour.samples.flatMap((sample, bottle) => sample.cups.map((cup) => ({ ...cup, bottle })));
  const order =
    evening % 3 === 0
      ? all
      : evening % 3 === 1
        ? [...all].sort((a, b) => a.seat - b.seat || a.trayNumber - b.trayNumber || a.position - b.position)
        : [...all].sort((a, b) => a.bottle - b.bottle || a.trayNumber - b.trayNumber);
  const size = evening % 3 === 2 ? 6 : 1;
  for (let at = 0; at < order.length; at += size) {
    const servingIds = order.slice(at, at + size).map(({ servingId }) => servingId);
    await steward.ask('POST', `${path}/pour/ticks`, { servingIds, poured: true });
  }
}

async function taste(
  view: SeatView,
  tablet: FaultClient,
  latency: Map<string, number>,
  chance: () => number,
): Promise<void> {
  for (const tray of view.trays) {
    for (const { sheet, part, codes } of tray.sheets) {
      for (const code of codes) {
        const position = tray.servings.find((one) => one.code === code)?.position ?? null;
        const mark = { trayNumber: tray.trayNumber, part, sheet, step: 'tasting', position };
        await tablet.ask('POST', '/api/seat/progress', mark);
      }
      const picked = codes[Math.floor(chance() * codes.length)] ?? '';
      const ballot =
        part === 1
          ? ballotFor(tray, picked)
          : {
              id: ballotId(),
              trayId: tray.id,
              part,
              sheet,
              answer: {
                kind: 'rating',
                marks: [{ code: codes[0], attributeId: 'sour', value: Math.round(chance() * 100) }],
              },
              comment: '',
            };
      const started = performance.now();
      await tablet.ask<BallotReceipt>('POST', '/api/seat/ballots', ballot);
      for (const code of codes)
        latency.set(`${view.seat} ${tray.trayNumber} ${code}`, performance.now() - started);
    }
  }
}

/** Numbers of an id: its bytes in four places. */
const bytes = (id: string): number[] =>
  [0, 2, 9, 34].map((at) => Number.parseInt(id.slice(at, at + 2), 16) || 0);
const digits = (code: string): number[] => [Number(code), ...[...code].map(Number), Number(code) % 7];

function rowsOf(
  evening: number,
  pour: PourView,
  seen: readonly { seat: number; view: SeatView; length: number }[],
  told: readonly Told[],
  latency: ReadonlyMap<string, number>,
): Map<string, SeenCup[]> {
  const bottles = pour.samples.map(({ id }) => id);
  const sampleOf = new Map(
    pour.samples.flatMap(({ id, cups }) =>
      cups.map((cup) => [`${cup.seat} ${cup.trayNumber} ${cup.code}`, id]),
    ),
  );
  const opened = told.find(({ message }) => isEvent(message, 'opened'))?.at ?? 0;
  const poured = told.flatMap(({ at, message }) =>
    message.type === 'event' && message.event.event.kind === 'poured'
      ? [{ at, cups: message.event.event.cups }]
      : [],
  );
  const cups = new Map<string, SeenCup[]>();
  const add = (who: string, cup: SeenCup): void => void cups.set(who, [...(cups.get(who) ?? []), cup]);
  for (const { seat, view, length } of seen) {
    for (const tray of view.trays) {
      const samples = tray.servings.map(
        ({ code }) => sampleOf.get(`${seat} ${tray.trayNumber} ${code}`) ?? '',
      );
      const inOrder = tray.servings.map(({ code }) => code).sort();
      const sorted = [
        ...new Set(tray.part === 1 ? bottles.filter((id) => samples.includes(id)) : samples),
      ].sort((a, b) => bottles.indexOf(a) - bottles.indexOf(b));
      for (const [at, { id, code, position }] of tray.servings.entries()) {
        const key = `${seat} ${tray.trayNumber} ${code}`;
        const progress = told.find(
          ({ message }) =>
            message.type === 'event' &&
            message.event.event.kind === 'progress' &&
            message.event.event.seat === seat &&
            message.event.event.code === code,
        );
        const host = [
          ...digits(code),
          seat,
          tray.trayNumber,
          progress ? progress.at - opened : -1,
          poured.length,
          ...[0.25, 0.5, 0.75].map((share) => poured[Math.floor(share * poured.length)]?.cups ?? -1),
        ];
        const assessor = [
          ...digits(code),
          position,
          seat,
          tray.trayNumber,
          inOrder.indexOf(code),
          length,
          ...bytes(id),
          ...bytes(tray.id),
          latency.get(key) ?? -1,
          ...tray.servings
            .filter((one) => one.code !== code)
            .flatMap((one) => Number(one.code) - Number(code))
            .slice(0, 2),
        ];
        const about = { evening, tray: `${evening} ${seat} ${tray.trayNumber}` };
        const mine = samples[at] ?? '';
        if (tray.part === 1) {
          const odd = samples.filter((one) => one === mine).length === 1 ? 1 : 0;
          const arm = sorted.indexOf(mine);
          for (const [who, features] of [
            ['host', host],
            ['assessor', assessor],
          ] as const) {
            add(`${who}: odd cup`, { ...about, features, label: odd });
            add(`${who}: arm in the triangle`, { ...about, features, label: arm });
          }
        } else {
          for (const [who, features] of [
            ['host', host],
            ['assessor', assessor],
          ] as const)
            add(`${who}: arm in the rating`, { ...about, features, label: sorted.indexOf(mine) });
        }
      }
    }
  }
  return cups;
}
