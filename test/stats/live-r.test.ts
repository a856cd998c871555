import { randomBytes } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { agreement } from '../support/live-r-agreement.ts';
import { distributions } from '../support/live-r-distributions.ts';
import { fits } from '../support/live-r-fits.ts';
import { pulls } from '../support/live-r-pulls.ts';
import { sites } from '../support/live-r-sites.ts';
import { tables } from '../support/live-r-tables.ts';
import { askR, Draw, judge, versionOfR } from '../support/live-r.ts';
import { missing } from '../support/missing.ts';

// Our numbers beside R's, on inputs that differ from run to run (not under CI); LIVE_R_SEED repeats a run. Where R is not on the machine,
// only beside answers that R gave before.
const CASES = 200;
const methods = [...distributions, ...tables, ...agreement, ...fits, ...pulls, ...sites];
const version = versionOfR();
// A landing must not depend on a rare draw, such as a nearly separated ordinal table: there the seed is fixed.
const drawn = () => (process.env['CI'] ? 21 : randomBytes(4).readUInt32LE());
const seed = Number(process.env['LIVE_R_SEED'] ?? drawn());

interface Stored {
  source: string;
  seed: number;
  methods: Record<string, { inputs: number[][]; outputs: (number | null)[][] }>;
}
const stored = JSON.parse(
  readFileSync(new URL('../reference/live-values.json', import.meta.url), 'utf8'),
) as Stored;

describe(`beside stored answers of ${stored.source}`, () => {
  it.each(methods)('$name', (method) => {
    const kept = stored.methods[method.name];
    const outputs = kept?.outputs.map((output) => output.map((value) => value ?? NaN)) ?? [];
    const { off, compared } = judge(method, kept?.inputs ?? [], outputs);
    expect(compared).toBeGreaterThanOrEqual(8);
    expect(off).toEqual([]);
  });
});

describe.concurrent(`beside ${version ?? 'R'}, seed ${seed}`, () => {
  it.for(methods)('$name', { timeout: 180_000 }, async (method, { skip }) => {
    skip(version === null, missing('R'));
    const draw = new Draw(seed);
    const inputs = draw.list(CASES, () => method.input(draw));
    const answers = await askR(method.name, inputs);
    if (answers.absent !== null) return skip(missing(`R package ${answers.absent}`));
    const { off, worst, worstOf, compared } = judge(method, inputs, answers.outputs);
    console.log(
      `${method.name}: ${CASES} inputs, seed ${seed}, ${compared} numbers, ` +
        `worst ${worst.toPrecision(2)} of its tolerance${worstOf && ` (${worstOf})`}`,
    );
    expect(compared, `numbers compared, seed ${seed}`).toBeGreaterThan(CASES / 2);
    expect(off.slice(0, 5), `${off.length} numbers off, seed ${seed}`).toEqual([]);
  });
});
