import { withWithdrawals } from '@oddglass/shared/analysis/common/withdrawals.ts';
import { withRecord } from '@oddglass/shared/analysis/reveal-record.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { Deps } from '../deps.ts';
import type { Answers } from './session-input.ts';

/** The result as anybody in the panel may read it: beside what was found at the reveal, without what a later count would tell. */
export async function resultOf(
  deps: Deps,
  { input, withdrawn, atReveal }: Pick<Answers, 'input' | 'withdrawn' | 'atReveal'>,
): Promise<ResultDocument> {
  const { bySite, ...rest } = await deps.analyst.analyse(input);
  // By place a later count beside an earlier one would tell what somebody said who took it back since.
  const result = bySite && !atReveal?.withdrawnSince ? { ...rest, bySite } : rest;
  const before = withdrawn - (atReveal?.withdrawnSince ?? 0);
  const counted = withWithdrawals(result, before);
  return atReveal ? withRecord(counted, atReveal) : counted;
}
