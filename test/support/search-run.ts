import { analyseSession } from '@oddglass/shared/analysis/analyse.ts';
import { figureRows, tidyAnswers, TIDY_COLUMNS } from '@oddglass/shared/export/tidy.ts';
import { publication, type Publication } from '@oddglass/shared/contracts/publication.ts';
import { resultDocument, type ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { assemblePublication } from '@oddglass/shared/publication/assemble.ts';
import { csvText, type Cell } from '@oddglass/shared/export/csv.ts';
import { PublicationRefused } from '@oddglass/shared/publication/disclosure.ts';
import { packageFiles, readPackage, zipPackage } from '@oddglass/shared/publication/package.ts';
import { verifyPackage } from '@oddglass/shared/publication/verify.ts';
import { wildSession, type WildSession } from './wild-session.ts';

/** Draws the pages of a result and of a publication; null leaves them out. */
export interface Pages {
  result: (document: ResultDocument) => string;
  publication: (document: Publication) => string;
}

export interface Outcome {
  seed: number;
  kinds: WildSession['kinds'];
  /** A publication was refused by a rule (nobody answered). */
  refused: boolean;
  /** What went wrong, each with the place where it did. */
  faults: string[];
}

/**
 * One session through everything that is made of it: analysis, contract, rows, pages, publication, package, verifier.
 * Nothing may fail, and nothing may hold a number that is none, an infinite one or a probability beyond 0 to 1.
 */
export function tryOne(seed: number, pages: Pages | null): Outcome {
  const { kinds, session, mood } = wildSession(seed);
  const faults: string[] = [];
  const note = (where: string, what: string): number => faults.push(`${where} (${mood}): ${what}`);
  const attempt = <T>(where: string, work: () => T): T | null => {
    try {
      return work();
    } catch (reason) {
      if (reason instanceof PublicationRefused) throw reason;
      note(where, reason instanceof Error ? (reason.stack ?? reason.message).slice(0, 600) : String(reason));
      return null;
    }
  };

  const document = attempt('analysis', () =>
    analyseSession(session.input, ({ part, figure, reason }) =>
      note('analysis', `part ${String(part)} ${figure}: ${reason.slice(0, 600)}`),
    ),
  );
  if (!document) return { seed, kinds, refused: false, faults };
  attempt('contract', () => resultDocument.parse(document));
  for (const fault of oddValues(document)) note('document', fault);
  const told = (where: string, text: string): void => {
    const found = /.{0,60}\b(?:NaN|Infinity|undefined|\[object)\b.{0,40}/.exec(text);
    if (found) note(where, found[0]);
  };
  const cells = (row: object): Record<string, Cell> => ({ ...row }) as Record<string, Cell>;
  attempt('answers', () => told('answers', csvText(tidyAnswers(session.input).map(cells), TIDY_COLUMNS)));
  attempt('figures', () =>
    told('figures', csvText(figureRows(document).map(cells), ['part', 'kind', 'figure', 'value'])),
  );
  if (pages) attempt('page', () => told('page', pages.result(document)));

  let refused = false;
  try {
    const made = attempt('publication', () => published(session, document, seed));
    if (made) {
      attempt('publication', () => publication.parse(made));
      for (const fault of oddValues(made)) note('publication', fault);
      attempt('package', () => {
        const files = packageFiles(made);
        for (const { path, bytes } of files) told(path, new TextDecoder().decode(bytes));
        const zip = zipPackage(files);
        if (JSON.stringify(readPackage(zip)) !== JSON.stringify(made))
          note('package', 'comes back as another');
        for (const check of verifyPackage(zip)) {
          if (!check.ok) note('verifier', `${check.name}: ${check.found} for ${check.expected}`);
        }
      });
      if (pages) attempt('publication page', () => told('publication page', pages.publication(made)));
    }
  } catch (reason) {
    if (!(reason instanceof PublicationRefused)) throw reason;
    // Nobody's answers left, or a lone person: rules, told in words.
    refused = true;
    if (reason.reason !== 'empty' && reason.reason !== 'small') note('publication', reason.message);
  }
  return { seed, kinds, refused, faults };
}

function published(session: WildSession['session'], document: ResultDocument, seed: number): Publication {
  const { input } = session;
  return assemblePublication({
    sessions: [session],
    choices: {
      title: 'An invented publication',
      panel: 'An invented panel',
      licence: 'CC-BY-4.0',
      arms: input.session.arms.map(({ id, name, differs }) => ({ armId: id, name, differs })),
      comments: [],
      answers: [],
      hostAgreesSmall: true,
      publishedOn: '2031-03-20',
      version: 1,
      earlier: null,
    },
    random: seededRandom(new Uint8Array(32).fill(seed % 256)),
    // Arms keep their names, so that it would come to the same again where readers are told everything.
    analyse: (unanalysed) => (unanalysed.unanalysed ? analyseSession(unanalysed) : document),
  });
}

const PROBABILITY = /^(?:p|p[A-Z]\w*|adjusted|share|power|smallestP)$/;

/** Numbers that are none, and probabilities beyond 0 to 1, with their paths. */
function oddValues(value: unknown, path = ''): string[] {
  if (typeof value === 'number') {
    if (!Number.isFinite(value)) return [`${path} is ${value}`];
    const name = path.split('.').at(-1) ?? '';
    return PROBABILITY.test(name) && (value < 0 || value > 1) ? [`${path} is ${value}`] : [];
  }
  if (typeof value === 'string') {
    const found = /\b(?:NaN|Infinity|undefined|\[object)\b/.exec(value);
    return found ? [`${path} says ‘${value.slice(Math.max(0, found.index - 60), found.index + 60)}’`] : [];
  }
  if (typeof value !== 'object' || value === null) return value === undefined ? [`${path} is undefined`] : [];
  return Object.entries(value).flatMap(([key, item]) =>
    oddValues(item, path === '' ? key : `${path}.${key}`),
  );
}
