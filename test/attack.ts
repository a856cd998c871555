import { boosted, guess, logistic, type SeenCup } from './support/guesser.ts';
import { seenEvening, setTable } from './support/seen-evening.ts';
import { Service } from './support/service.ts';
import { simulatedPanel } from './support/percepts.ts';

// npm run attack -- [evenings=200] [--seed=1]: can anybody tell cups apart by what a host or an assessor gets to see? Plays
// evenings over the API, then learns from four fifths of them and guesses in the rest, beside a leak planted on purpose.
// Ends with 1 when a guesser is better than chance, or when the planted leak is not found.

const args = process.argv.slice(2);
const evenings = Number(args.find((arg) => !arg.startsWith('--')) ?? 200);
const seed = Number(args.find((arg) => arg.startsWith('--seed='))?.slice(7) ?? 1);
if (!Number.isInteger(evenings) || evenings < 10)
  throw new RangeError('npm run attack -- [evenings, from 10]');
// Six questions by two learners, so that all together err in one of twenty such runs.
const LEVEL = 1 - 0.05 / 12;
// Says the truth this much more often than chance would.
const PLANTED = 0.15;

const { uniform: chance } = simulatedPanel(seed);
const started = Date.now();
const seen = new Map<string, SeenCup[]>();
const service = await Service.inNewFolder();
try {
  await service.start();
  const table = await setTable(service);
  for (let evening = 0; evening < evenings; evening++) {
    const { cups } = await seenEvening(table, evening, chance);
    for (const [who, rows] of cups) seen.set(who, [...(seen.get(who) ?? []), ...rows]);
  }
} finally {
  await service.remove();
}
console.log(
  `${evenings} evenings of six seats in ${Math.round((Date.now() - started) / 1000)} s, seed ${seed}`,
);

let faults = 0;
for (const [who, cups] of [...seen].sort(([a], [b]) => a.localeCompare(b))) {
  const classes = Math.max(...cups.map(({ label }) => label)) + 1;
  const pick = who.endsWith('odd cup');
  const planted = cups.map((cup) => ({
    ...cup,
    features: [...cup.features, chance() < PLANTED ? cup.label : Math.floor(chance() * classes)],
  }));
  for (const [name, learn] of [
    ['logistic', logistic],
    ['boosted', boosted],
  ] as const) {
    const options = { classes, pick, level: LEVEL, learn, chance };
    const open = guess(cups, options);
    const leaky = guess(planted, options);
    const better = open.lower > open.chance;
    const found = leaky.lower > leaky.chance;
    if (better || !found) faults += 1;
    const of = ({ accuracy, lower, upper }: typeof open): string =>
      `${accuracy.toFixed(3)} [${lower.toFixed(3)}, ${upper.toFixed(3)}]`;
    console.log(
      `${who.padEnd(30)} ${name.padEnd(9)} ${open.cups} cups, chance ${open.chance.toFixed(3)}: ${of(open)}` +
        `${better ? ' BETTER THAN CHANCE' : ''}; planted ${of(leaky)}${found ? ' found' : ' NOT FOUND'}`,
    );
  }
}
console.log(faults === 0 ? 'Nobody tells cups apart; every planted leak was found.' : `${faults} faults.`);
process.exitCode = faults === 0 ? 0 : 1;
