import type { Publication } from '../contracts/publication.ts';
import { citedTitle, howToCite, LICENCES } from './citation.ts';
import { allergensInWords } from './cautions.ts';
import { recordStory } from './record-story.ts';
import { checkLines, vocabularyLines } from './package-check-text.ts';
import type { Table } from './package-fields.ts';
import { PROTOCOL_LINES } from './protocol-words.ts';
import { besideInLines } from '../analysis/forest/figure-words.ts';

/** Several places: how many, and what by place may be told. */
function sitesLines({ sessions }: Publication): string[] {
  return sessions.flatMap(({ number, sites }) =>
    sites
      ? [
          `Session ${number}: ${line(sites.saying)}`,
          ...(sites.compared ?? []).map(({ part, reading }) => `- Part ${part}: ${line(reading)}`),
        ]
      : [],
  );
}

/** README.md of the package, in plain words: what it is, what each column says, how to check it, how to cite it. */
export function readmeText(publication: Publication, tables: readonly Table[], url: string | null): string {
  const { question, factor, arms, sessions, licence, disclosure, panel, publishedOn, version } = publication;
  const withheld = sessions.filter(({ rows }) => rows === null).map(({ number }) => number);
  const lines = [
    `# ${line(citedTitle(publication))}`,
    ...(publication.demo ? ['**All of this is invented.** No such tasting took place.'] : []),
    `Results of a blind tasting by ${line(panel)}. Version ${version}, published ${publishedOn}.`,
    `- Question: ${line(question)}`,
    `- Factor in which the arms differ: ${line(factor)}`,
    ...arms.map(({ name, differs }) => `- Arm ${line(name)}: ${line(differs)}`),
    '## What was found',
    ...sessions.flatMap(({ number, title, heldIn, assessors, parts, withheld: told }) => [
      `Session ${number}, ${line(title)}, tasted in ${heldIn} by ${assessors} people:`,
      ...parts.map(({ finding }) => `- ${line(finding.headline)} ${line(finding.lede)}`),
      ...(told ?? []).map(({ headline, lede }) => `- ${line(headline)} ${line(lede)}`),
    ]),
    ...sitesLines(publication),
    ...besideLines(publication),
    ...recordLines(publication),
    '## Cautions',
    '- These are answers of one panel. They tell of these people and this batch, not of everybody and every batch.',
    "- A difference that was not shown is not shown to be absent. A p-value is read with its interval and its panel's size.",
    ...(publication.cautions ? [`- ${allergensInWords(publication.cautions)}`] : []),
    ...publication.caveats.map(({ text, answer }) => `- ${line(text)} Answer of the host: ${line(answer)}`),
    ...sessions.flatMap(({ number, parts }) =>
      parts.flatMap(({ part, caveats }) =>
        caveats.map(({ text }) => `- Session ${number}, part ${part}: ${line(text)}`),
      ),
    ),
    '## So that nobody is found',
    ...disclosure.map((sentence) => `- ${line(sentence)}`),
    ...(withheld.length > 0
      ? [`- Answers of single people are withheld for session ${withheld.join(', ')}.`]
      : []),
    '- Please do not try to find out who said what, here or by joining these files with others.',
    '## Files',
    '`result.json` is the publication itself; the tables are made from it. `datapackage.json` describes them (Frictionless Data Package, Table Schema), `ro-crate-metadata.json` all files for research archives (RO-Crate). `SHA256SUMS` has the checksum of every other file.',
    'All tables are UTF-8 with a comma, a point for decimals and one header line. An empty cell says that there is no value. A text that a spreadsheet would take for a formula has an apostrophe in front.',
    ...tables.flatMap(({ name, description, fields, rows }) => [
      `### ${name}.csv`,
      `${description} Rows: ${rows.length}.`,
      '| column | type | unit | what it says |\n| --- | --- | --- | --- |\n' +
        fields
          .map((field) => `| ${field.name} | ${field.type} | ${field.unit ?? ''} | ${field.description} |`)
          .join('\n'),
    ]),
    ...PROTOCOL_LINES,
    ...vocabularyLines(publication),
    '## Read it',
    '```r\ntrays <- read.csv("trays.csv", colClasses = c(code = "character"), na.strings = "", encoding = "UTF-8")\n```',
    '```python\nimport pandas\ntrays = pandas.read_csv("trays.csv", dtype={"code": "string"})\n```',
    ...checkLines(),
    'What this shows: settings, samples and trays lead to the root, and the numbers follow from the counts; that they were fixed before anybody tasted, if that root was noted before. What it cannot show: that the panel tasted with care, who answered at a seat after it was handed over, what those did who could read the key, that nobody sealed the plan or the answers anew on the server (beside a root noted on the evening it shows), or that texts, figures named above and file sums here were not written anew together. For that, compare the sum of SHA256SUMS with the one on the page of the publication.',
    ...(publication.tastings
      ? [
          `Of this trial ${publication.tastings.sealed} tastings had been sealed and ${publication.tastings.revealed} revealed by the day of publishing; ${sessions.length} of them are told here.`,
        ]
      : []),
    '## Cite it',
    url === null ? 'See CITATION.cff.' : howToCite(publication, url),
    '## Licence',
    `${LICENCES[licence].title}: ${LICENCES[licence].url} (see LICENSE.txt).`,
  ];
  // A blank line between blocks, none within a list.
  return `${lines
    .map((text, at) => (text.startsWith('- ') && lines[at - 1]?.startsWith('- ') ? text : `\n${text}`))
    .join('\n')
    .trimStart()}\n`;
}

/** What a session repeats, beside what it found. */
function besideLines(publication: Publication): string[] {
  return publication.sessions.flatMap((session) => {
    const { beside } = session;
    if (!beside) return [];
    const { title, root, address } = beside.replication;
    return [
      `## Session ${session.number} beside what it repeats`,
      `Original: ${line(title)}, seal ${root}${address === null ? '' : `, ${line(address)}`}.`,
      ...besideInLines(beside).map((sentence) => `- ${line(sentence)}`),
    ];
  });
}

/** What was read of the arms, and what of them is not told. */
function recordLines(publication: Publication): string[] {
  const { record } = publication;
  if (!record) return [];
  return [
    '## How the arms were made, and what was read of them',
    ...record.base.map(({ label, value }) => `- ${line(label)}: ${line(value)}`),
    ...record.making.map(
      ({ label, standing, values }) =>
        `- ${line(label)}${{ factor: ' (the factor)', differs: ' (differs besides the factor)', same: '' }[standing]}: ${values.map((value) => (value === null ? 'unknown' : line(value))).join('; ')}`,
    ),
    ...record.read.map(({ arm, readings }) => `- Readings of ${line(arm)}: ${readings}`),
    ...(recordStory(publication)?.measures ?? []).map(({ name, sentence }) => `- ${name}. ${line(sentence)}`),
    ...record.leftOut.map((sentence) => `- ${line(sentence)}`),
  ];
}

/** A text of a host on one line, so that it cannot start a heading or a table of its own. */
function line(value: string): string {
  return value.replace(/\s+/g, ' ').replace(/[<>|`[\]]/g, (sign) => `\\${sign}`);
}

/** What the licence allows, in short, and where its full text is. */
export function licenceText({ licence, panel }: Publication): string {
  const { title, url } = LICENCES[licence];
  const meaning =
    licence === 'CC0-1.0'
      ? [
          `${panel} has waived all copyright and related rights in these data, as far as the law allows. You may copy, change and`,
          'pass them on, for any purpose, without asking. Giving the source is good practice all the same.',
        ]
      : [
          'You may share these data in any medium and adapt them, for any purpose, even commercially, as long as you give',
          `appropriate credit to ${panel}, link to the licence, and say whether you changed anything. You may not suggest that`,
          'the panel supports you or your use, nor add terms that keep others from what the licence permits.',
        ];
  return [
    `${title} (SPDX: ${licence})`,
    '',
    ...meaning,
    'The data come as they are, without warranty.',
    '',
    `This is a summary. What binds is the full legal text: ${url}legalcode`,
    '',
  ].join('\n');
}
