import type { Gap } from '@oddglass/shared/analysis/common/presentable.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';

/** What the thread answers: a result with what it could not say, or why there is none. */
export type AnalystMessage = { id: number } & (
  { document: ResultDocument; gaps: Gap[] } | { failed: string }
);
