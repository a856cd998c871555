import type { Part } from '../contracts/part.ts';
import type { PaperEntry } from '../contracts/session.ts';
import { lateOf } from '../rules/parts.ts';
import { listsWords } from './form.ts';

// What paper cannot guard, said at planning, on the page that prints, at the desk and with the result.

/** In every tasting on paper. */
export const PAPER_GUARDS_NOT =
  'Paper guards neither time nor order: nobody sees when and in which order a sheet was filled in, nor whether it was changed after a look at the neighbour.';

/** For whoever prints: a sheet cannot be told anything any more. */
export const PAPER_HEARS_NOTHING =
  'Should the tasting be stopped because something is not fit to taste, no sheet says so: tell everybody on paper aloud.';

/** What becomes of a part on paper, in sentences for whoever plans; empty where it is asked as on a tablet. */
export function onPaper(part: Part): string[] {
  const late = lateOf(part);
  return [
    ...('returning' in part && !part.returning
      ? ['Nothing keeps people from going back to an earlier mark.']
      : []),
    ...(part.kind === 'description' && !listsWords(part)
      ? [
          'So many words are not listed on each sheet: people write theirs, with a list of all words on the table, and the desk reads them by that list.',
        ]
      : []),
    ...(late
      ? [`Nobody tells them when the ${late.seconds} s are over: they need a clock, and may answer early.`]
      : []),
  ];
}

/** How often ballots are entered: twice where the plan says nothing. */
export const entryWanted = ({ paperEntry }: { paperEntry?: PaperEntry | undefined }): PaperEntry =>
  paperEntry ?? 'twice';
