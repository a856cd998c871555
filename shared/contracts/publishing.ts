import { z } from 'zod';
import { day, id, moment, optionalText } from './common.ts';
import { depositDraft, depositInput } from './deposit.ts';
import { name } from './name.ts';
import { disclosureTier, licence, publication } from './publication.ts';
import { count } from './result-common.ts';

/** Words that an address under /p/ may not be, since pages and files are called so. */
export const RESERVED_ADDRESSES: readonly string[] = [
  'api',
  'atom',
  'bench',
  'feed',
  'index',
  'list',
  'new',
  'package',
  'panel',
  'receipt',
  'result',
  'seat',
  'verify',
];

/** Where a publication stands: /p/<address>. */
export const address = z
  .string()
  .regex(/^[a-z0-9](?:[a-z0-9-]{1,58})[a-z0-9]$/, 'Use 3 to 60 small letters, digits and hyphens.');

/** An address that a host chooses. */
export const chosenAddress = z
  .string()
  .trim()
  .toLowerCase()
  .pipe(address)
  .refine((value) => !value.includes('--'), 'Put single hyphens between words.')
  .refine((value) => !RESERVED_ADDRESSES.includes(value), 'This word is in use by the pages themselves.');

/** What a deviation means for the result, in the host's words. The deviation is named by arm, day and text. */
export const caveatAnswer = z.object({
  armId: id,
  on: day,
  text: z.string().max(500),
  answer: optionalText(500),
});
export type CaveatAnswer = z.infer<typeof caveatAnswer>;

const chosen = {
  /** Revealed sessions of the trial. */
  sessionIds: z
    .array(id)
    .min(1, 'Choose at least one revealed session.')
    .max(12, 'At most twelve sessions.')
    .refine((list) => new Set(list).size === list.length, 'Name each session once.'),
  licence,
  /** Lines of comments the host passed, word for word as `commentLines` of the preview has them. */
  comments: z.array(z.string().max(2000)).max(2000).default([]),
  caveatAnswers: z.array(caveatAnswer).max(200).default([]),
  /** Does the record of the trial go along, and which of its free texts, word for word as `recordTexts` of the preview has them? */
  record: z
    .object({
      include: z.boolean().default(true),
      texts: z.array(z.string().max(2000)).max(2000).default([]),
    })
    .default({ include: true, texts: [] }),
  /** The host confirms to publish a group of fewer than five as such. */
  agreeSmall: z.boolean().default(false),
};

/** All that a host decides. */
export const publishInput = z.object({
  ...chosen,
  title: name(120),
  /** Names for readers, by id of the arm, for every arm of the sessions. */
  armNames: z.record(id, name(60)),
  /** For archives; never asked for. */
  deposit: depositInput.optional(),
});
export type PublishInput = z.infer<typeof publishInput>;

/** As they lie beside a version; of before the record was asked for they have no choice of it. */
export type KeptChoices = Omit<PublishInput, 'record'> & Partial<Pick<PublishInput, 'record'>>;

/** The same while it is being decided: what is not filled in yet is named in `refusals` of the preview. */
export const publishDraft = z.object({
  ...chosen,
  title: optionalText(120).default(''),
  armNames: z.record(id, optionalText(60)).default({}),
  deposit: depositDraft.optional(),
  /** Given when it is to be the next version of a publication. */
  publicationId: id.optional(),
});
export type PublishDraft = z.infer<typeof publishDraft>;

export const publishNew = publishInput.extend({
  /** Left out: one that cannot be guessed. */
  address: chosenAddress.optional(),
  /** In the panel's public list and feed? Left out: only with an address that was chosen. */
  listed: z.boolean().optional(),
});
export type PublishNew = z.infer<typeof publishNew>;

/** Why it may not be published as it is: a JSON pointer into the body of `publishInput`, and what to do. */
export const refusal = z.object({ pointer: z.string(), detail: z.string() });
export type Refusal = z.infer<typeof refusal>;

export const publishPreview = z.object({
  /**
   * What readers will get; labels and orders are drawn again when it is published. With `refusals` it stands on the names
   * of the trial where none were given; null when nothing can be shown.
   */
  publication: publication.nullable(),
  /** It may be published when this is empty. */
  refusals: z.array(refusal),
  /** Every line that assessors wrote, each once, by wording. */
  commentLines: z.array(
    z.object({
      line: z.string(),
      /** What in it could tell a person, in sentences. */
      flags: z.array(z.string()),
      /** No: it names a code, and may not be published at all. */
      passable: z.boolean(),
    }),
  ),
  /** Every free text of the trial's record, each once. None goes along that is not passed. */
  recordTexts: z.array(
    z.object({
      text: z.string(),
      where: z.array(z.string()),
      /** Recipe or notes, which stay here unless the host wants them told. */
      note: z.boolean(),
      flags: z.array(z.string()),
      /** No: something in it cannot be seen. */
      passable: z.boolean(),
    }),
  ),
  /** Deviations of the arms, each of which needs an answer; null where there is none yet. */
  caveats: z.array(
    z.object({
      armId: id,
      arm: z.string(),
      on: day,
      text: z.string(),
      /** Written down after the reveal of one of the sessions: readers are told. */
      late: z.boolean(),
      answer: z.string().nullable(),
    }),
  ),
  /** Sessions of the draft, in its order. */
  sessions: z.array(
    z.object({
      sessionId: id,
      title: z.string(),
      /** Null: nobody's answers are left. */
      tier: disclosureTier.nullable(),
      assessors: z.number().int(),
      withdrawn: z.number().int(),
      /** Did everybody agree to row-level data? To being told as a small group? Never how many did. */
      allAgreeRows: z.boolean(),
      allAgreeSmallGroup: z.boolean(),
    }),
  ),
});
export type PublishPreview = z.infer<typeof publishPreview>;

export const publicationState = z.enum(['published', 'withdrawn']);
export type PublicationState = z.infer<typeof publicationState>;

/** A version as readers may know it. `etag` is the SHA-256 of its result.json, hex. */
export const publicationVersion = z.object({
  version: z.number().int().min(1),
  publishedOn: day,
  etag: z.string().regex(/^[0-9a-f]{64}$/),
});
export type PublicationVersion = z.infer<typeof publicationVersion>;

/** A publication as its host sees it. */
export const publicationView = z.object({
  id,
  address,
  state: publicationState,
  /** Oldest first. */
  versions: z.array(publicationVersion),
  trialId: id,
  /** Of the newest version. */
  title: z.string(),
  listed: z.boolean(),
  createdAt: moment,
  withdrawnAt: moment.nullable(),
  /** What the host decided for the newest version, to start the next one from; null once it is withdrawn. */
  choices: publishInput.nullable(),
});
export type PublicationView = z.infer<typeof publicationView>;
export const publicationViews = z.object({
  publications: z.array(publicationView),
  /** As `publicOrigin` of a published view. */
  publicOrigin: z.string().nullish(),
});
export type PublicationViews = z.infer<typeof publicationViews>;

/**
 * What a reader gets. Asked for one version, `versions` are those up to it, so that the answer stays the same for good;
 * without, all of them and the newest publication. Withdrawn (sent with status 410): no publication, only that there was one.
 */
export const publishedView = z.object({
  state: publicationState,
  address,
  panelId: id,
  listed: z.boolean(),
  /** Withdrawn: without sums, which are made of what was taken back. */
  versions: z.array(publicationVersion.partial({ etag: true })),
  /** Day of withdrawal. */
  withdrawnOn: day.nullable(),
  publication: publication.nullable(),
  /** Digest of the data package (SHA-256 of its SHA256SUMS, hex), to hold a copy by; null when there is none any more. */
  digest: z.string().nullable(),
  /** Scheme and host at which the server is reached from outside of its network; null where none was set. */
  publicOrigin: z.string().nullish(),
  /** The data package as it is fetched: bytes and SHA-256 (hex) of the ZIP; null when there is none any more. */
  zip: z.object({ bytes: count, sha256: z.string() }).nullable().optional(),
});
export type PublishedView = z.infer<typeof publishedView>;

/** Listed publications of a panel, newest first; withdrawn ones stay as tombstones without a title. */
export const publicList = z.object({
  panelId: id,
  panel: z.string(),
  publications: z.array(
    z.object({
      address,
      state: publicationState,
      title: z.string().nullable(),
      /** First sentence of the first finding. */
      headline: z.string().nullable(),
      demo: z.boolean(),
      licence: licence.nullable(),
      version: z.number().int(),
      publishedOn: day,
    }),
  ),
});
export type PublicList = z.infer<typeof publicList>;
