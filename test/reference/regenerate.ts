// Writes live-values.json: inputs of one seed and R's answers, for machines without R.
// Usage: node test/reference/regenerate.ts (R with the packages of methods.R; half a minute).
import { writeFileSync } from 'node:fs';
import { agreement } from '../support/live-r-agreement.ts';
import { distributions } from '../support/live-r-distributions.ts';
import { fits } from '../support/live-r-fits.ts';
import { pulls } from '../support/live-r-pulls.ts';
import { sites } from '../support/live-r-sites.ts';
import { tables } from '../support/live-r-tables.ts';
import { askR, Draw, versionOfR } from '../support/live-r.ts';

const seed = 20261125;
const CASES = 10;

const version = versionOfR();
if (version === null) throw new Error('Rscript is not on this machine');
const lines: string[] = [];
for (const method of [...distributions, ...tables, ...agreement, ...fits, ...pulls, ...sites]) {
  const draw = new Draw(seed);
  const inputs = draw.list(CASES, () => method.input(draw));
  const answers = await askR(method.name, inputs);
  if (answers.absent !== null) throw new Error(`R package ${answers.absent} is absent`);
  const outputs = answers.outputs.map((output) =>
    output.map((value) => (Number.isNaN(value) ? null : value)),
  );
  lines.push(`${JSON.stringify(method.name)}: ${JSON.stringify({ inputs, outputs })}`);
}
const head = `"source": ${JSON.stringify(version)},\n"seed": ${seed},\n`;
writeFileSync(
  new URL('live-values.json', import.meta.url),
  `{\n${head}"methods": {\n${lines.join(',\n')}\n}\n}\n`,
);
