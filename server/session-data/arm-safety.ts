import { listReadingsOfArms } from '@oddglass/db/queries/reading.ts';
import { newestSafety } from '@oddglass/db/queries/safety.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import { listArms } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { SafetyJudgement, SafetyView } from '@oddglass/shared/contracts/safety.ts';
import { measuredSafety, type MeasuredSafety } from '@oddglass/shared/notebook/measured-safety.ts';
import { armsOfParts } from '@oddglass/shared/rules/parts.ts';
import { judgeSafety } from '@oddglass/shared/rules/safety-gate.ts';
import { reasonsInWords } from '@oddglass/shared/rules/safety-words.ts';
import { problem } from '../refusal/problem.ts';

/** Refuses to open on what is not fit to taste; what may be smelled only needs a tasting by smell. */
export async function refuseUnsafe(tx: Db, session: Session, smellOnly: boolean, now: Date): Promise<void> {
  const against = (await judgeArms(tx, session, now)).filter(
    ({ verdict }) => verdict === 'refuse' || (verdict === 'smell' && !smellOnly),
  );
  if (against.length === 0) return;
  const errors = against.map(({ armId, name, reasons }) => ({
    pointer: `#/arms/${armId}`,
    detail: `${name}: ${reasonsInWords({ reasons }).join(' ')}`,
  }));
  throw problem('unsafe-to-taste', { detail: errors.map(({ detail }) => detail).join(' '), errors });
}

interface ArmOnTable {
  armId: string;
  name: string;
  abv: number | null;
  facts: SafetyView | null;
  /** When the newest of it was written, a reading or a look. */
  asOf: string | null;
}

/** What was noted of these arms, with the pH and gravity of the notebook where those are newer. */
export async function knownSafety(db: Db, armIds: string[]): Promise<Map<string, MeasuredSafety>> {
  // One after the other: a transaction has one connection.
  const noted = await newestSafety(db, armIds);
  const readings = await listReadingsOfArms(db, armIds);
  return new Map(armIds.map((id) => [id, measuredSafety(noted.get(id) ?? null, readings, id)]));
}

/** Every arm that the session pours, with what was last noted and read of it. */
export async function armsOnTable(db: Db, session: Session): Promise<ArmOnTable[]> {
  const poured = armsOfParts(session.settings.parts);
  // One after the other: a transaction has one connection.
  const arms = await listArms(db, session.trialId);
  const known = await knownSafety(db, poured);
  return arms
    .filter(({ id }) => poured.includes(id))
    .map(({ id, name, abv }) => ({
      armId: id,
      name,
      abv,
      ...(known.get(id) ?? { facts: null, asOf: null }),
    }));
}

type JudgedArm = SafetyJudgement & ArmOnTable;

/** The same, judged as it stands now. */
export async function judgeArms(db: Db, session: Session, now: Date): Promise<JudgedArm[]> {
  const arms = await armsOnTable(db, session);
  return arms.map((arm) => ({ ...arm, ...judgeSafety(arm, now) }));
}
