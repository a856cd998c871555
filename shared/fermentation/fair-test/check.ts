import type { AnsweredFinding, FairTestAnswer, FairTestFinding } from '../../contracts/fair-test.ts';
import type { MakingField } from '../../contracts/making.ts';
import { compareArms } from './compare.ts';
import { signsOfArm, type ArmWithSigns } from './signs.ts';

/** An answer as it was written, with what it was an answer to. Oldest first. */
export interface GivenAnswer extends FairTestAnswer {
  finding: string;
  grounds: readonly string[];
}

export interface FairTestInput {
  arms: readonly ArmWithSigns[];
  /** Fields that the declared factor is about. */
  factorFields: readonly MakingField[];
  answers: readonly GivenAnswer[];
}

/**
 * The fair-test check: whatever stands between the arms besides the declared factor, and whatever nobody knows. First what
 * may undo the factor, then signs, differences and unknowns. An answer holds as long as all it was given for stays so,
 * for some of the arms too.
 * It informs: it finds what was noted, and an arm of which little was noted passes for a fair one only in so far as its
 * unknowns are told. Never throws. Source: beside each finding.
 * Example: `checkFairTest({ arms: [], factorFields: [], answers: [] })` is []
 */
export function checkFairTest({ arms, factorFields, answers }: FairTestInput): AnsweredFinding[] {
  const found = [...arms.flatMap(signsOfArm), ...compareArms(arms, factorFields)];
  const rank = ({ undoes, kind }: FairTestFinding): number =>
    undoes !== null ? 0 : { sign: 1, difference: 2, unknown: 3 }[kind];
  return found
    .map((finding, at) => ({ finding, at }))
    .sort((a, b) => rank(a.finding) - rank(b.finding) || a.at - b.at)
    .map(({ finding }) => ({ ...finding, answered: answerTo(finding, answers) }));
}

function answerTo(finding: FairTestFinding, answers: readonly GivenAnswer[]): FairTestAnswer | null {
  const given = answers.findLast(
    (one) => one.finding === finding.id && finding.grounds.every((ground) => one.grounds.includes(ground)),
  );
  return given ? { answer: given.answer, writtenBy: given.writtenBy, writtenAt: given.writtenAt } : null;
}
