import type { AnsweredFinding } from '../../contracts/fair-test.ts';
import type { Caveat, SessionFacts } from '../../contracts/result-common.ts';
import type { SessionSettings } from '../../contracts/session.ts';
import { checkFairTest, type FairTestInput } from '../../fermentation/fair-test/check.ts';
import { COMPARED_FIELDS } from '../../fermentation/fair-test/fields.ts';
import { listed } from '../../ground/phrases.ts';
import { armsOfPart, cupsIndex } from '../../rules/parts.ts';

interface FairTestOfSession {
  session: Pick<SessionFacts, 'arms'>;
  settings: Pick<SessionSettings, 'parts'>;
  /** What the trial has of its arms today; left out: not looked at. */
  fairTest?: FairTestInput;
}

/** The fair-test check of the arms that stood on the trays of a part, by the names the session tells. */
export function fairTestOfPart(
  { session, settings: { parts }, fairTest }: FairTestOfSession,
  number: number,
): AnsweredFinding[] {
  const poured = parts[cupsIndex(parts, number - 1)];
  if (!fairTest || !poured) return [];
  const own = armsOfPart(poured);
  const names = new Map(session.arms.map(({ id, name }) => [id, name]));
  const arms = fairTest.arms
    .filter(({ id }) => own.includes(id))
    .map((arm) => ({ ...arm, name: names.get(arm.id) ?? arm.name }));
  return checkFairTest({ ...fairTest, arms });
}

/** Each finding as a caveat with the host's answer; what nobody told in one of its own, since there may be much of it. */
export function fairTestCaveats(findings: readonly AnsweredFinding[]): Caveat[] {
  const known = findings.filter(({ kind }) => kind !== 'unknown');
  const unknown = findings.filter(({ kind, answered }) => kind === 'unknown' && answered === null);
  const caveats = [
    ...known,
    ...findings.filter(({ kind, answered }) => kind === 'unknown' && answered !== null),
  ].map(({ says, matters, answered }) =>
    plain(`${says} ${answered ? `The host: ${answered.answer}` : matters}`),
  );
  if (unknown.length > 0) {
    const fields = COMPARED_FIELDS.filter(({ field }) => unknown.some(({ id }) => id === `unknown ${field}`));
    caveats.push(
      plain(
        `Not told for every arm: ${listed(fields.map(({ label }) => label))}. Nobody can say that the arms were alike in that.`,
      ),
    );
  }
  return caveats;
}

const plain = (text: string): Caveat => ({ from: 'fair-test', arm: null, on: null, text });

/** A finding behind what undoes the factor: nobody should read a difference before that. Said once, however often it is asked for. */
export function sayFirst<T extends { headline: string }>(
  finding: T,
  findings: readonly Pick<AnsweredFinding, 'undoes'>[],
): T {
  const first = findings.flatMap(({ undoes }) => (undoes === null ? [] : [undoes])).join(' ');
  if (first === '' || finding.headline.startsWith(first)) return finding;
  return { ...finding, headline: `${first} ${finding.headline}` };
}
