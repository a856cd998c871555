import { z } from 'zod';
import { role } from './account.ts';
import { id, moment } from './common.ts';
import { name } from './name.ts';
import { sessionSummary } from './session.ts';

export const panelInput = z.object({ name: name(80) });
export type PanelInput = z.infer<typeof panelInput>;

export const trialSummary = z.object({
  id,
  title: z.string(),
  question: z.string(),
  /** What was found last; null: nothing yet. */
  finding: z.string().nullable(),
  archived: z.boolean(),
  arms: z.number().int(),
  createdAt: moment,
});
export type TrialSummary = z.infer<typeof trialSummary>;

/** A panel as its host or steward sees it. */
export const panelView = z.object({
  id,
  name: z.string(),
  demo: z.boolean(),
  role,
  members: z.array(z.object({ id, name: z.string(), role })),
  trials: z.array(trialSummary),
  sessions: z.array(sessionSummary),
});
export type PanelView = z.infer<typeof panelView>;
