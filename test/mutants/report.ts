import { matchesGlob } from 'node:path';
import type { Area } from './areas.ts';
import type { KnownMutant } from './nineteen-list.ts';
import type { AreaRun, MutantRecord } from './record.ts';
import type { Survivor, Survivors } from './survivors.ts';

// The report that stands beside this: what was run, how it ended, and why what lives may. Written by run.ts and nineteen.ts.

interface Told {
  record: MutantRecord;
  areas: readonly Area[];
  survivors: Survivors;
  nineteen: readonly KnownMutant[];
}

const BECAUSE = {
  equivalent: 'nothing can tell it apart',
  'second-guard': 'something else holds the promise too',
  accepted: 'accepted',
} as const;

/** The report as Markdown. */
export function reportOf({ record, areas, survivors, nineteen }: Told): string {
  const runs = areas.map((area) => ({ area, run: record.areas[area.name] }));
  return `${[
    '# What mutants told',
    'Written by `npm run mutants` and `node test/mutants/nineteen.ts`, not by hand. A mutant is one small mistake planted in the code; a test has to notice it.',
    '## Areas',
    '‘Before a test’ counts those noticed by a file of tests that failed as a whole: while it loaded, or in a hook before its tests. Where fewer were tried than there are, a run was cut short or a sample drawn, by the seed of the command.',
    table(
      ['area', 'tried', 'of', 'noticed', 'before a test', 'live, explained', 'live, open', 'date', 'command'],
      runs.map(({ area, run }) => rowOf(area.name, run)),
    ),
    ...openOf(runs),
    '## What lives, and why it may',
    ...runs.flatMap(({ area }) => survivorsOf(area, survivors)),
    `## The ${nineteen.length} that once lived`,
    'Each lived when the tests were first reviewed, and is noticed by a test written against it.',
    ...nineteen.map((mutant, at) => knownLines(mutant, at + 1, record.nineteen[mutant.mistake])),
  ].join('\n\n')}\n`;
}

function rowOf(name: string, run: AreaRun | undefined): string[] {
  if (!run) return [name, '', '', '', '', '', '', 'no run recorded', ''];
  const all = run.mutants + run.notTried;
  const counts = [run.mutants, all, run.noticed, run.beforeTests, run.explained, run.open].map(String);
  return [name, ...counts, run.date, code(run.command)];
}

function openOf(runs: readonly { area: Area; run: AreaRun | undefined }[]): string[] {
  const rows = runs.flatMap(({ run }) => Object.entries(run?.openBy ?? {}));
  if (rows.length === 0) return [];
  return [
    'Open are those nobody has looked at one by one:',
    rows.map(([file, count]) => `- ${code(file)}: ${count}`).join('\n'),
  ];
}

function survivorsOf({ name, mutate }: Area, survivors: Survivors): string[] {
  const own = Object.entries(survivors).filter(([file]) => mutate.some((glob) => matchesGlob(file, glob)));
  if (own.length === 0) return [];
  return [
    `### ${name}`,
    ...own.flatMap(([file, list]) => [`${code(file)}:`, list.map(survivorLine).join('\n')]),
  ];
}

function survivorLine({ change, times, because, why }: Survivor): string {
  return `- ${code(change)}${times > 1 ? `, ${times} alike` : ''} (${BECAUSE[because]}): ${why}`;
}

function knownLines({ mistake, file, test, title }: KnownMutant, at: number, noticed?: string): string {
  const when = noticed === undefined ? 'Not tried since' : `Noticed on ${noticed}`;
  return [`${at}. ${mistake}`, `   ${code(file)}`, `   ${when} by ${code(test)}: ${title}`].join('\\\n');
}

function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`;
  return [line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n');
}

/** As code, whatever signs of code it holds; a table's sign of a column would end its cell. */
function code(text: string): string {
  const fence = text.includes('`') ? '``' : '`';
  return fence === '`' ? `\`${text}\`` : `\`\` ${text} \`\``;
}
