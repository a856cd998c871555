import type { SafetyJudgement } from '@oddglass/shared/contracts/safety.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { ArmView } from '@oddglass/shared/contracts/trial.ts';
import { armsOfParts } from '@oddglass/shared/rules/parts.ts';
import { judgeSafety } from '@oddglass/shared/rules/safety-gate.ts';

export interface JudgedArm {
  arm: ArmView;
  judged: SafetyJudgement;
}

/** The arms that a session pours, as they stand now: what was fit yesterday has to be looked at today. */
export function judgedArms(
  arms: readonly ArmView[],
  { parts }: Pick<SessionSettings, 'parts'>,
  now: Date,
): JudgedArm[] {
  const poured = new Set(armsOfParts(parts));
  return arms
    .filter(({ id }) => poured.has(id))
    .map((arm) => ({ arm, judged: judgeSafety({ abv: arm.abv, facts: arm.safety }, now) }));
}
