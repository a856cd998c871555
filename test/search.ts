import { fork } from 'node:child_process';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { openPages } from './support/search-pages.ts';
import { tryOne, type Outcome } from './support/search-run.ts';

// npm run search -- [sessions] [first seed]: that many random and nasty sessions through everything that is made of one.
// Every twentieth is drawn as pages too. Ends with 1 when anything failed, or held a number that is none.

interface Share {
  first: number;
  count: number;
  step: number;
}

const EVERY = 20;

// A process each: the compiler of the pages wants to stand in their folder.
const share = process.env['SEARCH_SHARE'];
if (share === undefined) await search();
else await work(JSON.parse(share) as Share);

async function search(): Promise<void> {
  const [sessions = 20_000, first = 1] = process.argv.slice(2).map(Number);
  if (!Number.isInteger(sessions) || sessions < 1 || !Number.isInteger(first) || first < 0)
    throw new RangeError('npm run search -- [sessions, from 1] [first seed, from 0]');
  const shares = Math.min(availableParallelism(), sessions);
  const started = Date.now();
  const byKind = new Map<string, number>();
  const faults: string[] = [];
  let [tried, refused, parts] = [0, 0, 0];
  const take = ({ seed, kinds, refused: no, faults: found }: Outcome): void => {
    tried += 1;
    refused += no ? 1 : 0;
    parts += kinds.length;
    for (const kind of kinds) byKind.set(kind, (byKind.get(kind) ?? 0) + 1);
    for (const fault of found) {
      faults.push(fault);
      if (faults.length <= 50) console.log(`seed ${seed}, ${kinds.join(' + ')}: ${fault}`);
    }
    if (tried % 1_000 === 0) console.log(`${tried} tried, ${faults.length} faults`);
  };
  await Promise.all(
    Array.from({ length: shares }, (_, at) => {
      const share: Share = { first: first + at, count: Math.ceil((sessions - at) / shares), step: shares };
      const child = fork(fileURLToPath(import.meta.url), [], {
        cwd: fileURLToPath(new URL('../web', import.meta.url)),
        env: { ...process.env, SEARCH_SHARE: JSON.stringify(share) },
      });
      child.on('message', (outcome) => take(outcome as Outcome));
      return new Promise<void>((resolve, reject) => {
        child.once('error', reject);
        child.once('exit', (code) =>
          code === 0 ? resolve() : reject(new Error(`a share ended with ${code}`)),
        );
      });
    }),
  );
  const counts = [...byKind].sort().map(([kind, count]) => `${kind} ${count}`);
  console.log(`parts by kind: ${counts.join(', ')}`);
  console.log(
    `${tried} sessions (seeds ${first} to ${first + sessions - 1}, ${parts} parts, ${refused} with nothing to publish), ` +
      `every ${EVERY}th drawn as pages, ${faults.length} faults, ${Math.round((Date.now() - started) / 1000)} s`,
  );
  if (faults.length > 0 || tried !== sessions) process.exitCode = 1;
}

async function work({ first, count, step }: Share): Promise<void> {
  const { pages, close } = await openPages();
  for (let at = 0; at < count; at++) {
    const seed = first + at * step;
    process.send?.(tryOne(seed, seed % EVERY === 0 ? pages : null));
  }
  await close();
  process.disconnect?.();
}
