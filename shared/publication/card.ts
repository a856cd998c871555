import type { Publication } from '../contracts/publication.ts';
import { capital, howMany } from '../ground/phrases.ts';

// What is told of a publication where its page is only linked: in feed, list, and on a shared card.

/** What was found, told of every part of every session in the order of the page: none is left out because another says more. */
export function publicationHeadline({ sessions }: Publication): string {
  const found = sessions.map(({ parts, withheld = [] }) =>
    [...parts.map(({ finding }) => finding.headline), ...withheld.map(({ headline }) => headline)].join(' '),
  );
  return found.length > 1
    ? found.map((headline, at) => `Session ${at + 1}: ${headline}`).join(' ')
    : (found[0] ?? '');
}

/** Characters that a shared card shows of a description. Our own bound: what is cut off there must not turn a finding round. */
const CARD_LENGTH = 200;

/**
 * The description of a shared link: what was found, in whole sentences. Where several sessions do not fit, it says of how many there
 * are which showed a difference and which did not, rather than to tell some of them.
 */
export function cardText(publication: Publication): string {
  const { sessions, question, factor } = publication;
  const invented = publication.demo ? 'Invented demo data. ' : '';
  const whole = invented + publicationHeadline(publication);
  const further = [`Question: ${question}`, `Factor: ${factor}.`];
  if (whole.length <= CARD_LENGTH) return withWhole(whole, further);
  const count = sessions.reduce((sum, { parts, withheld = [] }) => sum + parts.length + withheld.length, 0);
  const single = sessions[0]?.parts[0]?.finding.headline ?? sessions[0]?.withheld?.[0]?.headline ?? '';
  // One finding is told whole, however long it is.
  if (count === 1) return invented + single;
  const [shown, tests] = shownOf(sessions);
  const tested =
    tests === 0
      ? ''
      : ` A difference was shown in ${shown === 0 ? 'none' : howMany(shown)} of ${howMany(tests)} tests of difference.`;
  const told = `${invented}${capital(howMany(count))} findings of ${howMany(sessions.length)} ${sessions.length === 1 ? 'session' : 'sessions'}.${tested}`;
  return withWhole(told, further);
}

/** Sentences as long as they fit, and none of them cut. */
function withWhole(start: string, further: readonly string[]): string {
  return further.reduce(
    (text, sentence) => (text.length + sentence.length < CARD_LENGTH ? `${text} ${sentence}` : text),
    start,
  );
}

/** Of the tests of difference, how many showed one. */
function shownOf(sessions: Publication['sessions']): [number, number] {
  const verdicts = sessions.flatMap(({ parts }) =>
    parts.flatMap((part) => ('verdict' in part.finding ? [part.finding.verdict] : [])),
  );
  const tests = verdicts.filter(
    (verdict) => verdict === 'difference-shown' || verdict === 'difference-not-shown',
  );
  return [tests.filter((verdict) => verdict === 'difference-shown').length, tests.length];
}
