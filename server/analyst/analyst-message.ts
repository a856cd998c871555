import type { Gap } from '@oddglass/shared/analysis/common/presentable.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { Story, StoryInput } from '@oddglass/shared/contracts/story.ts';
import type { SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { PackageFile } from '@oddglass/shared/publication/package.ts';
import type { PublicationRefused } from '@oddglass/shared/publication/disclosure.ts';
import type { Composing } from '../freeze/compose.ts';
import type { Frozen } from '../freeze/freeze.ts';

/**
 * What the thread is asked: a session's result; to have one at hand for the publication that is asked next; the story of a
 * trial from results it gave before; what readers would get; a version with its files; files as one ZIP.
 */
export type AnalystQuestion = { id: number } & (
  | { input: SessionInput }
  | { prepare: SessionInput }
  | { story: StoryInput }
  | { preview: Composing }
  | { freeze: Composing; pageAt: string | null }
  | { files: PackageFile[] }
);

/** What the thread answers, or why there is nothing. A refusal says what the host has to change. */
export type AnalystMessage = { id: number } & (
  | { document: ResultDocument; gaps: Gap[] }
  | { prepared: true }
  | { story: Story }
  | { preview: string }
  | { frozen: Frozen }
  | { zip: Uint8Array }
  | { refused: Pick<PublicationRefused, 'field' | 'reason' | 'message'> }
  | { failed: string }
);
