import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import { analyseSession } from '@oddglass/shared/analysis/analyse.ts';
import { recordOf, withRecord } from '@oddglass/shared/analysis/reveal-record.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SessionFacts } from '@oddglass/shared/contracts/result-common.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { assessPlan } from '@oddglass/shared/planner/planner.ts';
import type { ServedTray } from '@oddglass/shared/analysis/common/served.ts';
import { analyseSameDifferent } from '@oddglass/shared/analysis/same-different/same-different.ts';
import { input, PARTS, sameDifferentPart, tray, trays } from '../analysis/choice/choice-input.ts';
import { storiesOfSession, storyWords, toldStories } from './story-sentences.ts';
import { wildSession } from './wild-session.ts';

// Every sentence that results and planner can say, gathered from sessions and counts of all sorts and brought to their
// form: numbers, names and lists stand for themselves once. The file that is kept is read by people; the test only says
// when it changes.

const NAMES =
  /\b(Cool|Warm(?!-up)|Wild|Dry|Oak|Lees|Peel|Salt)( \((hidden )?(control|duplicate|warm-up)\)| \+ [^,.;)]*)?/g;
const SAID = /[“‘][^”’]{1,40}[”’](?!s)/g;
const ASSESSORS = /\bA\d+\b/g;
const COUNTS = /\b(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|nobody|once|twice)\b/gi;
const ATTRIBUTES =
  /\b(?:banana|clove|stale|sour|bread|apple|hay|peach|bitter|smoky|sweet|body|fruity|length|liking(?= was demon)|degree of difference)\b/gi;
const NUMBER = /[−-]?\d[\d,.]*(?:e-?\d+)?(?: ?%)?/g;
const LIST = /<(\w+)>(?:(?:, | and | or |; )<\1>)+/g;

/** The form of a sentence: what varies with a tasting is taken out. */
export function formOf(sentence: string): string {
  return sentence
    .replace(SAID, '<said>')
    .replace(NAMES, '<arm>')
    .replace(ASSESSORS, '<person>')
    .replace(ATTRIBUTES, '<said>')
    .replace(NUMBER, (found) => {
      const stop = /[.,]$/.exec(found)?.[0] ?? '';
      return `#${stop}`;
    })
    .replace(COUNTS, (found) => (found === found.toLowerCase() ? 'so-many' : 'So-many'))
    .replace(/\b(?:p|P) (?:[<>=] )#/g, 'p #')
    .replace(/(?:<arm> \+?# \(# to \+?#(?:, p #)?\)(?:, | and )?)+/g, '<arm> # (# to #)')
    .replace(/(?:<arm> # \(# to #\)(?:, | and )?)+/g, '<arm> # (# to #)')
    .replace(/(?:<arm> #(?:, | and )?)+/g, '<arm> #')
    .replace(/(?:<arm> above <arm>(?:(?:, | and )<arm>)*(?:; )?)+/g, '<arm> above <arm>')
    .replace(LIST, '<$1>')
    .replace(/(?:#(?:, | and ))+#/g, '#')
    .replace(/\b(?:less than so-many in #|so-many in #|# times in #) ?(?:times)?/g, 'so often')
    .replace(/\b(?:(?:less|more) than )#/g, '#')
    .replace(/\b[Nn]one of (?:#|so-many)/g, '# of #')
    .replace(/\b[Ss]o-many of (?:#|so-many)/g, '# of #')
    .replace(/\s+/g, ' ')
    .trim();
}

/** Splits what is said into sentences, each by itself. */
export function sentencesOf(text: string): string[] {
  return text
    .split(/(?<=[.!?])\s+(?=[\p{Lu}‘“<])/u)
    .map((one) => one.trim())
    .filter((one) => /\p{L}.*\s.*\p{L}/u.test(one));
}

/** All text of a document that is a sentence or more, whatever field it stands in. */
export function textsOf(value: unknown): string[] {
  if (typeof value === 'string') return /\s/.test(value) ? [value] : [];
  if (Array.isArray(value)) return value.flatMap(textsOf);
  if (value === null || typeof value !== 'object') return [];
  return Object.entries(value).flatMap(([key, one]) =>
    // Texts of the host and of the trial are theirs; sources and inputs are no sentences.
    ['comments', 'session', 'settings', 'source', 'inputs', 'name', 'samples', 'ownWords'].includes(key)
      ? []
      : textsOf(one),
  );
}

/** Wild sessions that are gone through. */
export const SESSIONS = 90;
/** Those of them whose trial is told as a story too. */
const STORIES = 26;
/** Further ones that ask late, of drinks that linger. */
const LATE_SESSIONS = 12;

/** How an evening went besides its answers: bent or not, by whose hands, and who could read the key. */
const CONDUCTS: Partial<SessionFacts>[] = [
  { answersIntact: false, handedOver: 1, keyReaders: { accounts: 0, invited: 0 } },
  { answersIntact: true, handedOver: 3, keyReaders: { accounts: 2, invited: 1 } },
  { keyReaders: { accounts: 1, invited: 1 } },
  { keyReaders: { accounts: 1, invited: 0 } },
  { keyReaders: { accounts: 3, invited: 2 } },
  { keyReaders: { accounts: 4, invited: 0 } },
];

/** A result as it stands after one person who was right, or four of whom two were, took their answers back past the reveal. */
function laterResults(later: ResultDocument): ResultDocument[] {
  return [
    { gone: 1, right: 1 },
    { gone: 4, right: 2 },
  ].map(({ gone, right }) => {
    const parts = recordOf(later).map((one) => ({
      ...one,
      assessors: one.assessors + gone,
      answers: one.answers + gone,
      counted: one.counted === null ? null : one.counted + right,
    }));
    return withRecord(later, { parts, withdrawnSince: gone });
  });
}

/** The forms of all sentences, sorted, each once. */
export function allSentences(sessions: number): string[] {
  const forms = new Set<string>();
  const add = (document: unknown): void =>
    textsOf(document)
      .flatMap(sentencesOf)
      .forEach((sentence) => forms.add(formOf(sentence)));
  const evenings = [
    ...Array.from({ length: sessions }, (_, at) => ({ seed: at + 1, late: false })),
    // Every thirteenth begins with a description.
    ...Array.from({ length: LATE_SESSIONS }, (_, at) => ({ seed: 13 * at + 9, late: true })),
  ];
  for (const { seed, late } of evenings) {
    const { session } = wildSession(seed, late);
    const result = analyseSession(session.input);
    add(result);
    // Each kind once.
    if (!late && seed <= 13) laterResults(result).forEach(add);
    if (!late && seed <= STORIES) storiesOfSession(session.input, result).map(storyWords).forEach(add);
    const { settings } = session.input;
    const lingering: SessionSettings['lingering'] = seed % 2 === 0 ? ['sour', 'bitter'] : ['smoky', 'strong'];
    add(
      assessPlan(
        late ? { ...settings, lingering } : settings,
        session.input.session.arms.map((arm, at) => ({
          id: arm.id,
          name: arm.name,
          volumeMl: at === 0 ? 300 : 9000,
          abv: at === 1 && seed % 5 === 0 ? null : 5,
        })),
      ),
    );
  }
  toldStories().map(storyWords).forEach(add);
  for (const [at, conduct] of CONDUCTS.entries()) {
    const { input: evening } = wildSession(at + 1).session;
    add(analyseSession({ ...evening, session: { ...evening.session, ...conduct } }));
  }
  for (const name of Object.keys(PARTS) as (keyof typeof PARTS)[]) {
    for (const change of [{}, { aim: 'similarity' as const, alpha: 0.2, beta: 0.05, meaningfulShare: 0.3 }]) {
      for (const n of [1, 3, 6, 12, 30, 60]) {
        for (let right = 0; right <= n; right += Math.max(1, Math.floor(n / 12))) {
          add(analyseChoice(input({ ...PARTS[name], ...change }, trays(name, n, right))));
        }
      }
    }
  }
  for (const replicates of [1, 2]) {
    for (const n of [2, 6, 12, 30]) {
      for (const hits of [0, 0.3, 0.6, 1]) {
        for (const alarms of [0, 0.3, 1]) {
          add(
            analyseSameDifferent(
              input({ ...sameDifferentPart, replicates }, pairTrays(n, replicates, hits, alarms)),
            ),
          );
        }
      }
    }
  }
  return [...forms].sort((a, b) => (a < b ? -1 : 1));
}

/** Pairs of both sorts, of which such shares were called different. */
function pairTrays(people: number, replicates: number, hits: number, alarms: number): ServedTray[] {
  return Array.from({ length: people }, (_, who) =>
    Array.from({ length: replicates }, (_unused, at) => {
      const differs = (who + at) % 2 === 0;
      const said = Math.floor(who / 2) < Math.round(((differs ? hits : alarms) * people) / 2);
      return tray(differs ? 'AB' : 'BB', said ? [1, 2] : [], { assessor: `a${who}`, replicate: at + 1 });
    }),
  ).flat();
}

/** What a page says of likeness for every count of a triangle: counts that read alike stand in one line. */
export function likenessTable(least: number, most: number): string[] {
  const part = {
    ...PARTS.triangle,
    aim: 'similarity' as const,
    alpha: 0.2,
    beta: 0.05,
    meaningfulShare: 0.3,
  };
  const lines: string[] = [];
  for (let n = least; n <= most; n += 1) {
    let from = 0;
    let said = '';
    for (let right = 0; right <= n + 1; right += 1) {
      const headline =
        right > n ? '' : (analyseChoice(input(part, trays('triangle', n, right))).finding.headline ?? '');
      const now = headline.replace(/^.*? found the odd one[:,]? ?/, '');
      if (now === said) continue;
      if (said !== '') lines.push(`${n}: ${from} to ${right - 1}: ${said}`);
      [from, said] = [right, now];
    }
  }
  return lines;
}
