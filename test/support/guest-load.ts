import { fork } from 'node:child_process';
import { connect, type Socket } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { WebSocket } from 'ws';

// One guest who has the QR and a seat and means no good: sockets without end, seats without end, bodies that never end, the
// largest pages, guesses. In a process of its own, so that what it costs itself is not taken for what the server does.

export const MISDEEDS = ['sockets', 'seats', 'guesses', 'bodies', 'pages', 'own'] as const;
export type Misdeed = (typeof MISDEEDS)[number];

export interface GuestOrder {
  address: string;
  /** The guest's own address, as a proxy tells it. */
  from: string;
  /** What it does; all of it unless told. */
  misdeeds: readonly Misdeed[];
  /** Of the open tasting, and of the guest's own seat. */
  joinToken: string;
  seatToken: string;
  seats: number;
  /** Pages asked for without a pause. */
  pages: string[];
  ms: number;
}

export type GuestCount = Record<
  | 'sockets'
  | 'socketsRefused'
  | 'seats'
  | 'seatsRefused'
  | 'bodies'
  | 'pages'
  | 'pagesRefused'
  | 'guesses'
  | 'own',
  number
>;

const WORKERS = 4;
const SLOW_BODIES = 200;

/** Does its worst from another process until the time is over. */
export function guestWithoutPause(order: GuestOrder): Promise<GuestCount> {
  return new Promise((resolve, reject) => {
    const child = fork(fileURLToPath(import.meta.url), ['guest'], { stdio: 'inherit' });
    child.once('message', (count) => {
      resolve(count as GuestCount);
      child.disconnect();
      child.kill();
    });
    child.once('error', reject);
    child.send(order);
  });
}

async function misbehave(order: GuestOrder): Promise<GuestCount> {
  const { address, from, misdeeds, joinToken, seatToken, seats, pages, ms } = order;
  const until = performance.now() + ms;
  const goesOn = (): boolean => performance.now() < until;
  const count: GuestCount = {
    sockets: 0,
    socketsRefused: 0,
    seats: 0,
    seatsRefused: 0,
    bodies: 0,
    pages: 0,
    pagesRefused: 0,
    guesses: 0,
    own: 0,
  };
  const post = (path: string, body: unknown): Promise<number> =>
    fetch(address + path, {
      method: 'POST',
      headers: { 'content-type': 'application/json', 'x-forwarded-for': from },
      body: JSON.stringify(body),
      signal: AbortSignal.timeout(20_000),
    }).then(
      async (response) => (await response.arrayBuffer(), response.status),
      () => 0,
    );
  const sockets = async (): Promise<void> => {
    while (goesOn()) {
      const socket = new WebSocket(
        `${address.replace('http', 'ws')}/api/seat/live`,
        ['oddglass', `seat.${seatToken}`],
        { headers: { 'x-forwarded-for': from } },
      );
      socket.on('open', () => (count.sockets += 1)).on('error', () => (count.socketsRefused += 1));
      await wait(10);
    }
  };
  const takeSeats = async (): Promise<void> => {
    for (let seat = 1; goesOn(); seat = (seat % seats) + 1) {
      const status = await post('/api/join/seat', { token: joinToken, seat });
      if (status === 200) count.seats += 1;
      else count.seatsRefused += 1;
    }
  };
  const guesses = async (): Promise<void> => {
    while (goesOn()) {
      await post('/api/join', { code: 'ACDE FGHJ' });
      count.guesses += 1;
    }
  };
  const slowBodies = async (): Promise<void> => {
    const { hostname, port } = new URL(address);
    const open: Socket[] = [];
    while (goesOn()) {
      if (open.filter(({ destroyed }) => !destroyed).length < SLOW_BODIES) {
        const socket = connect({ host: hostname, port: Number(port) });
        socket.on('error', () => undefined);
        socket.write(
          `POST /api/join HTTP/1.1\r\nhost: ${hostname}:${port}\r\ncontent-type: application/json\r\nx-forwarded-for: ${from}\r\ncontent-length: 5000\r\n\r\n{`,
        );
        open.push(socket);
        count.bodies += 1;
      } else await wait(100);
      await wait(5);
    }
    open.forEach((socket) => socket.destroy());
  };
  const read = async (worker: number): Promise<void> => {
    for (let turn = worker; goesOn(); turn++) {
      const status = await fetch(address + (pages[turn % pages.length] ?? '/'), {
        headers: { 'x-forwarded-for': from },
        signal: AbortSignal.timeout(20_000),
      }).then(
        async (response) => (await response.arrayBuffer(), response.status),
        () => 0,
      );
      if (status === 200) count.pages += 1;
      else count.pagesRefused += 1;
    }
  };
  const own = async (): Promise<void> => {
    while (goesOn()) {
      await fetch(`${address}/api/seat`, {
        headers: { authorization: `Bearer ${seatToken}`, 'x-forwarded-for': from },
        signal: AbortSignal.timeout(20_000),
      }).then(
        (response) => response.arrayBuffer(),
        () => undefined,
      );
      count.own += 1;
    }
  };
  const doings: Record<Misdeed, () => Promise<unknown>> = {
    sockets,
    seats: takeSeats,
    guesses,
    bodies: slowBodies,
    pages: () => Promise.all(Array.from({ length: WORKERS }, (_, worker) => read(worker))),
    own: () => Promise.all(Array.from({ length: WORKERS }, own)),
  };
  await Promise.all(misdeeds.map((misdeed) => doings[misdeed]()));
  return count;
}

if (process.argv[2] === 'guest') {
  process.once('message', (order) => {
    void misbehave(order as GuestOrder).then((count) => process.send?.(count));
  });
}
