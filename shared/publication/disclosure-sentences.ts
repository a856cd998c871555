import { capital, inWords, listed, people } from '../ground/phrases.ts';
import type { AssembledSession } from './assemble-session.ts';
import {
  AGREED_BELOW,
  BLUR_BELOW,
  FULL_FROM,
  MIN_BATCH,
  MIN_GIVERS,
  MIN_GROUP,
  type Withheld,
} from './disclosure.ts';

interface Done {
  sessions: readonly AssembledSession[];
  withheld: Withheld;
  /** Lines the host passed, out of all that were written. */
  passed: number;
  written: number;
  version: number;
  /** The host left out how the arms were made and what was read of them. */
  recordLeftOut: boolean;
}

/** What was done so that nobody is found, and what readers must take on trust, in sentences. */
export function disclosureSentences({
  sessions,
  withheld,
  passed,
  written,
  version,
  recordLeftOut,
}: Done): string[] {
  const tiers = new Set(sessions.map(({ session }) => session.tier));
  const some = (count: number, noun: string): string =>
    count === 0 ? `no ${noun}` : `${count} ${noun}${count === 1 ? '' : 's'}`;
  const sentences = [
    'Nobody is named, and nothing from a device or a network was kept for this publication. Of times only the month is told.',
    'Trays are opened with their codes so that the seal can be checked. Who sat where stays sealed, and no answer is published with a code, a place, an order or a seat: whoever remembers where people sat, or photographed a tray, finds no answer by it.',
  ];
  if (tiers.has('full')) {
    sentences.push(`Where ${people(FULL_FROM)} or more answered, figures are exact, with their intervals.`);
  }
  if (tiers.has('coarse')) {
    sentences.push(
      `Where ${inWords(AGREED_BELOW)} to ${people(FULL_FROM - 1)} answered, counts are told, means and ranks only roughly, p that does not follow from counts by the upper end of a band, and no tables by order, place, confidence or repeated tray.`,
    );
  }
  const pairs = sessions.some(
    ({ session: { tier, parts } }) => tier !== 'full' && parts.some(({ kind }) => kind === 'same-different'),
  );
  if (pairs) {
    sentences.push(
      `Of a same-different test of fewer than ${people(FULL_FROM)} neither hits nor false alarms are told: only what it claims, with the upper end of a band for p.`,
    );
  }
  if (tiers.has('agreed')) {
    sentences.push(
      `Fewer than ${people(AGREED_BELOW)} answered ${tiers.size > 1 ? 'in one of the sessions' : ''}: this is one small group’s word. Each of them and the host agreed to publish it.`.replace(
        '  ',
        ' ',
      ),
    );
  }
  sentences.push(...rowSentences(sessions));
  sentences.push(
    `In tables, groups of fewer than ${people(MIN_GROUP)} are withheld, and so are groups of ${people(BLUR_BELOW)} or fewer, and by order groups of any size, in which all or none (or all but one) answered alike; further groups and tables are withheld with them where all that is told together would give one away, also to one of the people. Counts over everybody who answered a question are told even where all or none said the same: of whoever took part that is then known. ${capital(some(withheld.cells, 'cell'))} withheld.`,
    `Words given by fewer than ${people(MIN_GIVERS)} are not shown${sessions.some(({ noRows }) => noRows === null) ? `; in rows they read ‘another word’, or are left out where that would point to somebody` : ''}. ${capital(some(withheld.words, 'word'))} withheld.`,
    `Comments and words of assessors’ own are left out unless the host passed them line by line: ${passed} of ${written} ${written === 1 ? 'line' : 'lines'} passed, ${written - passed} withheld.`,
    'What is said of single assessors, for training, is never published.',
  );
  if (recordLeftOut) {
    sentences.push('The host left out how the arms were made and what was read of them over time.');
  }
  if (withheld.parts > 0) {
    sentences.push(
      `${capital(some(withheld.parts, 'part'))} of the tasting ${withheld.parts === 1 ? 'is' : 'are'} left out, because too few answered or had one of its samples.`,
    );
  }
  if (version > 1) {
    sentences.push(
      `Withdrawn answers leave with the next version, ${people(MIN_BATCH)} or more at a time, so that subtracting versions tells nobody’s. People are labelled anew in each version.`,
    );
  }
  const renamed = [...new Set(sessions.flatMap((one) => one.renamed))];
  if (renamed.length > 0) {
    const list = listed(renamed.map((name) => `‘${name}’`));
    sentences.push(
      `${list} ${renamed.length === 1 ? 'is published under another name' : 'are published under other names'} than sealed: which samples on the trays were ${renamed.length === 1 ? 'it' : 'they'} is the host’s word and not proven by the seal.`,
    );
  }
  return sentences;
}

function rowSentences(sessions: readonly AssembledSession[]): string[] {
  const withRows = sessions.filter(({ noRows }) => noRows === null);
  const sentences: string[] = [];
  if (withRows.length > 0) {
    sentences.push(
      'Every assessor in them agreed to single answers being published. They stand in random order under labels drawn for this version alone. Where people had different cups, each cup has a label of its own, and where somebody left a question out, each part has. Marks on a line are rounded where one or two people would stand apart by how they put them in. Somebody who knows what a person answered, or how that person always marks, may still recognise them.',
    );
  }
  if (sessions.some(({ noRows }) => noRows === 'consent')) {
    sentences.push(
      'Single answers are not published where not everybody agreed to it; the sealed trays and the counts by order, where told, let the headline be checked.',
    );
  }
  if (sessions.some(({ noRows }) => noRows === 'panel')) {
    sentences.push(`Single answers are not published of fewer than ${people(FULL_FROM)}.`);
  }
  return sentences;
}
