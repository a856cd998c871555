import { tryWithheld, type Findings } from './support/withheld-run.ts';

// npm run withheld -- [publications] [first seed]: that many publications of random panels, each kind and size in turn; a
// program of its own tries to determine what was withheld from each of them alone. Ends with 1 when it determined anything.

const [publications = 2_000, first = 1] = process.argv.slice(2).map(Number);
if (!Number.isInteger(publications) || publications < 1 || !Number.isInteger(first) || first < 0)
  throw new RangeError('npm run withheld -- [publications, from 1] [first seed, from 0]');

const started = Date.now();
const byTier = new Map<Findings['tier'], number>();
const byKind = new Map<string, number>();
const versions = { made: 0, refused: 0 };
const determined: string[] = [];
let [made, tried] = [0, 0];
for (let seed = first; made < publications; seed += 1) {
  const found = tryWithheld(seed);
  byTier.set(found.tier, (byTier.get(found.tier) ?? 0) + 1);
  if (found.tier === 'refused') continue;
  made += 1;
  tried += found.tried;
  if (found.second) versions[found.second] += 1;
  for (const kind of found.kinds) byKind.set(kind, (byKind.get(kind) ?? 0) + 1);
  for (const one of found.determined) {
    determined.push(one);
    if (determined.length <= 50) console.log(`seed ${seed}: ${one}`);
  }
}
const listed = (counts: ReadonlyMap<string, number>): string =>
  [...counts].map(([name, count]) => `${name} ${count}`).join(', ');
console.log(`${made} publications (${listed(byTier)}); parts: ${listed(byKind)}`);
console.log(`second versions: ${versions.made} made, ${versions.refused} refused`);
console.log(
  `${tried} withheld values tried, determined: ${determined.length} (${Math.round((Date.now() - started) / 1000)} s)`,
);
if (determined.length > 0) process.exitCode = 1;
