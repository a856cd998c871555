import type { Gap } from '@oddglass/shared/analysis/common/presentable.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { Story, StoryInput } from '@oddglass/shared/contracts/story.ts';
import type { SessionInput } from '@oddglass/shared/analysis/analyse.ts';

/** What the thread is asked: a session's result, or the story of a trial from results it gave before. */
export type AnalystQuestion = { id: number } & ({ input: SessionInput } | { story: StoryInput });

/** What the thread answers: a result with what it could not say, a story, or why there is none. */
export type AnalystMessage = { id: number } & (
  { document: ResultDocument; gaps: Gap[] } | { story: Story } | { failed: string }
);
