import { request } from 'node:http';
import { setTimeout as wait } from 'node:timers/promises';
import { faultEvening, faultHost, type FaultHost } from './support/fault-client.ts';
import { guestWithoutPause, MISDEEDS } from './support/guest-load.ts';
import { figures, submitAtPace } from './support/load-figures.ts';
import { besideMaking } from './support/load-making.ts';
import { ratingPublished } from './support/load-publications.ts';
import { besideSteadyReaders } from './support/load-reading.ts';
import { readWithoutPause } from './support/reader-load.ts';
import { Service } from './support/service.ts';

// npm run load -- [rounds] [seconds] guest [misdeed]: what one guest who means no good does to them, quiet and bad in turn.
// The guest has an address of its own, then the room's, as behind one router.
// npm run load -- [rounds] [seconds] reading: 100 pages, pictures and packages a second beside an evening of 50 seats.
// npm run load -- 1 1 making [people] [sessions] [words]: how long the health page takes while a large publication is looked
// at, made and first read.
// npm run load -- [rounds] [seconds]: what readers of publications without a pause do to the ballots of twelve seats that
// submit at people's pace, in one run, quiet and read in turn; and how many bytes pages and answers take.

const [rounds = 3, seconds = 6] = process.argv.slice(2, 4).map(Number);
const mode = process.argv[4] ?? 'readers';
const guest = mode === 'guest';
const misdeeds = MISDEEDS.filter((misdeed) => (process.argv[5] ?? misdeed) === misdeed);
// Addresses for documentation (RFC 5737).
const ROOM = '198.51.100.1';
const ELSEWHERE = '203.0.113.9';
if (![rounds, seconds].every((count) => Number.isInteger(count) && count > 0))
  throw new RangeError('npm run load -- [rounds] [seconds a turn]: whole numbers from 1');
const READERS = [0, 1, 4, 16];
const SEATS = 12;
const TRAYS = 4;
const EVERY_MS = 500;

// Nobody is let through for coming from the machine itself.
if (guest) process.env['TRUST_PROXY'] = 'loopback';
const service = await Service.inNewFolder();
try {
  await service.start();
  const hosted = await faultHost(service);
  if (guest) await besideGuest(hosted);
  else if (mode === 'reading') await besideSteadyReaders(hosted, { rounds, seconds });
  else if (mode === 'making') {
    const [people = 200, sessions = 5, words = 60] = process.argv.slice(5, 8).map(Number);
    await besideMaking(hosted, { people, sessions, words });
  } else await besideReaders(hosted);
} finally {
  await service.remove();
}

async function besideReaders(hosted: FaultHost): Promise<void> {
  const { session, urls } = await ratingPublished(hosted, service.address);
  console.log('bytes on the wire (identity, gzip):');
  for (const line of await sizes(hosted, session, urls)) console.log(`  ${line}`);
  const latencies = new Map(READERS.map((readers) => [readers, [] as number[]]));
  const reads = new Map(READERS.map((readers) => [readers, 0]));
  for (let round = 0; round < rounds; round++) {
    for (const readers of READERS) {
      const turn = seconds * 1000;
      const { tablets } = await faultEvening(hosted, SEATS, TRAYS);
      const reading = readers > 0 ? readWithoutPause({ urls, readers, ms: turn + 2_000 }) : null;
      // The readers are there before the first ballot.
      await wait(1_000);
      latencies.get(readers)?.push(...(await submitAtPace(tablets, EVERY_MS)));
      const count = await reading;
      reads.set(readers, (reads.get(readers) ?? 0) + (count?.reads ?? 0));
    }
  }
  const quiet = figures(latencies.get(0) ?? []);
  for (const readers of READERS) {
    const { n, p50, p95 } = figures(latencies.get(readers) ?? []);
    console.log(
      `${String(readers).padStart(2)} readers: ${n} ballots, p50 ${p50.toFixed(1)} ms, p95 ${p95.toFixed(1)} ms, ` +
        `beside quiet ${(p50 / quiet.p50).toFixed(2)} and ${(p95 / quiet.p95).toFixed(2)}, ${reads.get(readers)} reads`,
    );
  }
}

/** Twelve seats at people's pace, and a thirteenth that does its worst in every other turn. */
async function besideGuest(hosted: FaultHost): Promise<void> {
  const { urls } = await ratingPublished(hosted, service.address);
  const pages = [
    '/',
    '/bench/sign-in',
    '/api/docs/json',
    '/seat',
    ...urls.map((url) => new URL(url).pathname),
  ];
  // The first reader of a publication has it made, which is not what this is about.
  for (const page of pages) await (await fetch(service.address + page)).arrayBuffer();
  const turns = { quiet: '', 'beside a guest elsewhere': ELSEWHERE, 'beside a guest in the room': ROOM };
  const times = new Map(Object.keys(turns).map((turn) => [turn, [] as number[]]));
  const did = new Map(Object.keys(turns).map((turn) => [turn, {} as Record<string, number>]));
  for (let round = 0; round < rounds; round++) {
    for (const [turn, from] of Object.entries(turns)) {
      const { tablets, joinToken } = await faultEvening(hosted, SEATS + 1, TRAYS);
      const [own, ...others] = tablets;
      for (const tablet of others) tablet.from = ROOM;
      const doings =
        from !== ''
          ? guestWithoutPause({
              address: service.address,
              from,
              misdeeds,
              joinToken,
              seatToken: own?.seatToken ?? '',
              seats: SEATS + 1,
              pages,
              ms: seconds * 1000 + 2_000,
            })
          : null;
      await wait(1_000);
      times.get(turn)?.push(...(await submitAtPace(others, (seconds * 1000) / TRAYS)));
      const counted = did.get(turn) ?? {};
      for (const [what, count] of Object.entries((await doings) ?? {}))
        counted[what] = (counted[what] ?? 0) + count;
    }
  }
  const quiet = figures(times.get('quiet') ?? []);
  for (const turn of Object.keys(turns)) {
    const { n, p50, p95 } = figures(times.get(turn) ?? []);
    console.log(
      `${turn}: ${n} ballots, p50 ${p50.toFixed(1)} ms, p95 ${p95.toFixed(1)} ms, ` +
        `beside quiet ${(p50 / quiet.p50).toFixed(2)} and ${(p95 / quiet.p95).toFixed(2)} ${JSON.stringify(did.get(turn))}`,
    );
  }
}

async function sizes(hosted: FaultHost, session: string, urls: readonly string[]): Promise<string[]> {
  const lines: string[] = [];
  for (const url of new Set(urls)) lines.push(await sizeOf(url, {}));
  const { host, panel } = hosted;
  const cookie = { cookie: host.cookie ?? '' };
  const { tablets } = await faultEvening(hosted, 1, 4);
  const seat = { authorization: `Bearer ${tablets[0]?.seatToken ?? ''}` };
  lines.push(await sizeOf(`${service.address}/api/seat`, seat));
  for (const path of [
    '/bench',
    `/api/panels/${panel}/vocabulary`,
    `/bench/panel/${panel}/vocabulary`,
    `/bench/session/${session}/result`,
    `/api/sessions/${session}/result`,
  ])
    lines.push(await sizeOf(service.address + path, cookie));
  return lines;
}

async function sizeOf(url: string, headers: Record<string, string>): Promise<string> {
  const bytes = await Promise.all(
    ['identity', 'gzip'].map(async (encoding) => {
      const { received } = await wire(url, { ...headers, 'accept-encoding': encoding });
      return received;
    }),
  );
  return `${new URL(url).pathname}: ${bytes.join(', ')}`;
}

async function wire(url: string, headers: Record<string, string>): Promise<{ received: number }> {
  return new Promise((resolve, reject) => {
    request(url, { headers }, (response) => {
      let received = 0;
      response.on('data', (chunk: Buffer) => (received += chunk.length));
      response.on('end', () => resolve({ received }));
    })
      .on('error', reject)
      .end();
  });
}
