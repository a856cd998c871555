import { z } from 'zod';
import { role } from './account.ts';
import { code, id, moment, optionalText, text, token } from './common.ts';

export const sessionState = z.enum(['draft', 'sealed', 'open', 'closed', 'revealed']);
export type SessionState = z.infer<typeof sessionState>;

export const sessionKind = z.enum(['triangle']);
export type SessionKind = z.infer<typeof sessionKind>;

/** double: nobody in the room but the steward knows the key. single: the host took the key to pour. */
export const blinding = z.enum(['double', 'single']);
export type Blinding = z.infer<typeof blinding>;

export const aim = z.enum(['difference', 'similarity']);
export type Aim = z.infer<typeof aim>;

/** What is fixed before the first sip of a triangle session. */
export const triangleSettings = z.object({
  kind: z.literal('triangle'),
  /** Shown to assessors: must not name an arm. */
  title: text(80),
  armIds: z
    .array(id)
    .length(2, 'A triangle compares two arms.')
    .refine(([first, second]) => first !== second, 'Choose two different arms.'),
  /** Expected assessors. */
  assessors: z.number().int().min(1, 'At least one assessor.').max(200, 'At most 200 assessors.'),
  /** Seats sealed in for latecomers, beyond the expected. */
  spareSeats: z.number().int().min(0).max(100, 'At most 100 spare seats.'),
  /** Trays per assessor. */
  replicates: z.number().int().min(1, 'At least one tray each.').max(4, 'At most four trays each.'),
  /** Risk of claiming a difference that is not there. */
  alpha: z.number().gt(0, 'Alpha lies above 0.').max(0.25, 'Alpha lies at or below 0.25.'),
  aim,
  /** Share of discriminators that would matter (pd), 0 to 1. */
  meaningfulShare: z.number().gt(0, 'Above 0.').lt(1, 'Below 1.'),
  /** Risk of missing that share (difference), or of claiming similarity wrongly (similarity). */
  beta: z.number().gt(0, 'Beta lies above 0.').max(0.5, 'Beta lies at or below 0.5.'),
  /** mL per cup. */
  cupMl: z.number().min(5, 'At least 5 mL.').max(250, 'At most 250 mL.'),
  /** Rest between trays, seconds. */
  restSeconds: z.number().int().min(0).max(3600, 'At most an hour.'),
  /** Seats start in masking light. */
  masking: z.boolean(),
  /** For the steward: temperature, cup, order of service. */
  servingNote: optionalText(300).default(''),
});
export type TriangleSettings = z.infer<typeof triangleSettings>;

/** Settings of a session of any kind; today the triangle. */
export const sessionSettings = triangleSettings;
export type SessionSettings = z.infer<typeof sessionSettings>;

export const sessionSummary = z.object({
  id,
  trialId: id,
  title: z.string(),
  kind: sessionKind,
  state: sessionState,
  createdAt: moment,
});
export type SessionSummary = z.infer<typeof sessionSummary>;

/** What a viewer may do now; the same table decides in the API and on the screen (`rules/session.ts`). */
export const sessionAction = z.enum([
  'edit',
  'remove',
  'seal',
  'open',
  'close',
  'reveal',
  'take-key',
  'pour',
  'rotate-code',
  'hand-over',
  'read-result',
]);
export type SessionAction = z.infer<typeof sessionAction>;

/** How tablets join: the QR holds `<origin>/seat#<token>`, the code is typed. Only while the session is open. */
export const joinView = z.object({ code: z.string(), token });
export type JoinView = z.infer<typeof joinView>;

/** A session as a host or steward sees it. Nothing in it ties a code, tray or seat to an arm. */
export const sessionView = z.object({
  id,
  panelId: id,
  panelName: z.string(),
  trialId: id,
  trialTitle: z.string(),
  demo: z.boolean(),
  state: sessionState,
  settings: sessionSettings,
  blinding,
  root: z.string().nullable(),
  fingerprint: z.string().nullable(),
  createdAt: moment,
  sealedAt: moment.nullable(),
  openedAt: moment.nullable(),
  closedAt: moment.nullable(),
  revealedAt: moment.nullable(),
  role,
  actions: z.array(sessionAction),
  join: joinView.nullable(),
});
export type SessionView = z.infer<typeof sessionView>;

/** A fresh link to a seat, for a tablet that has to be replaced: `<origin>/seat#seat.<seatToken>`. */
export const handOverView = z.object({ seat: z.number().int(), seatToken: token });
export type HandOverView = z.infer<typeof handOverView>;

export const servingOnTray = z.object({ id, position: z.number().int().min(1).max(3), code });
export type ServingOnTray = z.infer<typeof servingOnTray>;
