import { z } from 'zod';
import { partErrors } from './part-fit.ts';
import { role } from './account.ts';
import { code, id, moment, optionalText, text, token } from './common.ts';
import { unseenIn } from './name.ts';
import { part } from './part.ts';
import { refusedSpikes } from './refused-spikes.ts';
import { replication } from './replication.ts';
import { siteErrors, siteNumber, sites } from './site.ts';
import { untoldSpikes } from './spike-fit.ts';

export const sessionState = z.enum(['draft', 'sealed', 'open', 'closed', 'revealed']);
export type SessionState = z.infer<typeof sessionState>;

/** double: nobody in the room but the steward knows the key. single: the host took the key to pour. */
export const blinding = z.enum(['double', 'single']);
export type Blinding = z.infer<typeof blinding>;

/** What goes on in the mouth after the cup. Told of all drinks of a session together, so that it says nothing of a cup. */
export const lingering = z.enum(['sour', 'bitter', 'smoky', 'strong']);
export type Lingering = z.infer<typeof lingering>;

/** How often ballots on paper are entered before they count: once, or twice with differences settled against the paper. */
export const paperEntry = z.enum(['once', 'twice']);
export type PaperEntry = z.infer<typeof paperEntry>;

/** What is fixed before the first sip. */
export const sessionSettings = z
  .object({
    /** Shown to assessors: must not name an arm. */
    title: text(80),
    /** Expected assessors. */
    assessors: z.number().int().min(1, 'At least one assessor.').max(200, 'At most 200 assessors.'),
    /** Seats sealed in for latecomers, beyond the expected. */
    spareSeats: z.number().int().min(0).max(100, 'At most 100 spare seats.'),
    /** How many people sit at a time, where there are fewer tablets or chairs than people; left out: all of them. */
    seatsAtOnce: z
      .number()
      .int('A whole number of seats.')
      .min(1, 'At least one seat at a time.')
      .max(200, 'At most 200 seats at a time.')
      .optional(),
    /** mL per cup. */
    cupMl: z.number().min(5, 'At least 5 mL.').max(250, 'At most 250 mL.'),
    /** Rest between trays, seconds. */
    restSeconds: z.number().int().min(0).max(3600, 'At most an hour.'),
    /** What lingers in these drinks, for cups and rests; left out: nobody said that anything does. */
    lingering: z
      .array(lingering)
      .max(4)
      .refine((list) => new Set(list).size === list.length, 'Say each once.')
      .optional(),
    /** Seats start in masking light. */
    masking: z.boolean(),
    /** For the steward: temperature, cup, order of service. */
    servingNote: optionalText(300).default(''),
    /** Questions in the order in which they are asked. */
    parts: z.array(part).min(1, 'A session needs a part.').max(4, 'At most four parts.'),
    /** Left out: twice, also where it was not asked yet. */
    paperEntry: paperEntry.optional(),
    /** Several places at which it is poured; left out: one. Their people and spare seats add up to those above. */
    sites: sites.optional(),
    /** The published tasting that this one repeats; left out: none. Fixed when the draft is made. */
    replicates: replication.optional(),
  })
  .superRefine((settings, context) => {
    for (const { at, message } of partErrors(settings.parts)) {
      context.addIssue({ code: 'custom', path: ['parts', ...at], message });
    }
    for (const { at, message } of siteErrors(settings)) {
      context.addIssue({ code: 'custom', path: at, message });
    }
  });
export type SessionSettings = z.infer<typeof sessionSettings>;

/** Settings as they are sent: sessions kept from before something was refused, or asked, can still be read. */
export const sessionInput = sessionSettings.superRefine(({ title, parts, sites: places = [] }, context) => {
  const named = [
    { path: ['title'], text: title },
    ...places.map((one, at) => ({ path: ['sites', at, 'name'], text: one.name })),
  ];
  for (const { path, text: said } of named) {
    const unseen = unseenIn(said);
    if (unseen !== undefined) context.addIssue({ code: 'custom', path, message: unseen });
  }
  for (const { at, message } of [...refusedSpikes(parts), ...untoldSpikes(parts)]) {
    context.addIssue({ code: 'custom', path: ['parts', ...at], message });
  }
});

/** What a part said when the key turned, as lists tell it. */
const sessionFinding = z.object({
  sentence: z.string(),
  /** Its answers for a small plot, with how many of them guessing, or no preference, leads to; null where none are counted. */
  drawn: z
    .object({
      answers: z.number().int().positive(),
      counted: z.number().int().nonnegative(),
      expected: z.number().nonnegative(),
    })
    .nullable(),
});
export type SessionFinding = z.infer<typeof sessionFinding>;

export const sessionSummary = z.object({
  id,
  trialId: id,
  title: z.string(),
  /** Kinds of its parts, in order. */
  kinds: z.array(z.string()),
  state: sessionState,
  /** What each part said when the key turned; none before. */
  findings: z.array(sessionFinding),
  createdAt: moment,
});
export type SessionSummary = z.infer<typeof sessionSummary>;

/** What a viewer may do now; the same table decides in the API and on the screen (`rules/session.ts`). */
export const sessionAction = z.enum([
  'edit',
  'remove',
  'rehearse',
  'play',
  'seal',
  'open',
  'close',
  'reveal',
  'take-key',
  'pour',
  'rotate-code',
  'call-wave',
  'hand-over',
  'free-seat',
  'print-ballots',
  'set-aside',
  'open-desk',
  'read-result',
]);
export type SessionAction = z.infer<typeof sessionAction>;

/** How tablets join: the QR holds `<origin>/seat#<token>`, the code is typed. Only while the session is open. */
export const joinView = z.object({ code: z.string(), token });
export type JoinView = z.infer<typeof joinView>;

/** How the tasting is opened. */
export const openInput = z.object({
  /** The cups are smelled and not tasted: the only way where an arm may not be tasted. */
  smellOnly: z.boolean().default(false),
});
export type OpenInput = z.infer<typeof openInput>;

/** A session as a host or steward sees it. Nothing in it ties a code, tray or seat to an arm. */
export const sessionView = z.object({
  id,
  panelId: id,
  panelName: z.string(),
  trialId: id,
  trialTitle: z.string(),
  demo: z.boolean(),
  /** Nothing in it is tasted: simulated people, or people who practise, play it. */
  rehearsal: z.boolean().default(false),
  state: sessionState,
  settings: sessionSettings,
  blinding,
  /** Fixed by opening: the cups are smelled and not tasted. */
  smellOnly: z.boolean(),
  /** While open: something was seen that ends the tasting of the cups; null while nothing was. */
  stoppedAt: moment.nullable(),
  root: z.string().nullable(),
  fingerprint: z.string().nullable(),
  /** Root over all answers, from closing on. */
  answersRoot: z.string().nullable(),
  createdAt: moment,
  sealedAt: moment.nullable(),
  openedAt: moment.nullable(),
  closedAt: moment.nullable(),
  revealedAt: moment.nullable(),
  role,
  actions: z.array(sessionAction),
  join: joinView.nullable(),
  /** The plan was sealed on another server: this one pours for one place of it, and never reveals. Left out: its own. */
  guest: z
    .object({
      panel: z.string(),
      site: siteNumber,
      name: z.string(),
      sites: z.number().int(),
      firstSeat: z.number().int(),
    })
    .optional(),
});
export type SessionView = z.infer<typeof sessionView>;

/**
 * A way to a seat for one other device, once and until then: `<origin>/seat#move.<moveToken>`. It is not what the seat is
 * known by afterwards, so whoever made or saw it does not hold the seat.
 */
export const moveOffer = z.object({ seat: z.number().int(), moveToken: token, until: moment });
export type MoveOffer = z.infer<typeof moveOffer>;

/** A cup everybody may know: the reference of a duo-trio, the marked control. Its code stands on it like on any other. */
export const cupMark = z.enum(['reference', 'control']);
export type CupMark = z.infer<typeof cupMark>;

export const servingOnTray = z.object({
  id,
  /** Left to right, from 1. */
  position: z.number().int().min(1).max(16),
  code,
  mark: cupMark.nullable(),
});
export type ServingOnTray = z.infer<typeof servingOnTray>;
