import { z } from 'zod';

// What a research archive asks of a host beside what a publication tells anyway. All of it is optional.

const LONGEST = 200;

/** As the schema of the Citation File Format 1.2.0 has it, so that every file can carry what was taken; without backslashes. */
const DOI = /^10\.\d{4,9}(?:\.\d+)?\/[A-Za-z0-9:/_;\-.()[\]]+$/;
const PAGE = /^https?:\/\/[^\s<>"']+\.[^\s<>"']+$/;
// Common practice, no source: what a mail program takes for an address. Whether anybody reads it, only a letter shows.
const MAIL = /^[^\s@<>"',;:]+@[^\s@<>"',;:/]+\.[^\s@<>"',;:/.]{2,}$/;

/** A DOI as people paste it, without what stands before '10.'. */
const bareDoi = (value: string): string =>
  value.replace(/^(?:https?:\/\/(?:dx\.)?doi\.org\/|doi:\s*)(?=10\.)/i, '');

export const isDoi = (value: string): boolean => DOI.test(value);
export const isMail = (value: string): boolean => MAIL.test(value);

const line = z.string().trim().max(LONGEST, `Keep this to ${LONGEST} characters.`);

/** How the other work stands to this one; words of DataCite's list of relation types (from memory of its schema 4). */
export const relation = z.enum([
  'References',
  'IsSupplementTo',
  'IsDerivedFrom',
  'Continues',
  'IsPartOf',
  'IsDocumentedBy',
]);
export type Relation = z.infer<typeof relation>;

const related = z.object({
  relation,
  /** A DOI without address, or the address of a page. */
  identifier: line
    .overwrite(bareDoi)
    .refine((value) => isDoi(value) || PAGE.test(value), 'Give a DOI (10.…/…) or an address (https://…).'),
});

const doi = line
  .overwrite(bareDoi)
  .refine((value) => value === '' || isDoi(value), 'A DOI looks like 10.1234/abcd.');

const contact = line.refine(
  (value) => value === '' || isMail(value) || PAGE.test(value),
  'Give the address of a page (https://…) or an e-mail address.',
);

const mostRelated = 'At most ten related works.';

/** What a host adds for archives. Empty texts are as if left out. */
export const depositInput = z
  .object({
    /** Of this very version, where an archive reserved one beforehand. */
    doi: doi.default(''),
    /** Where readers can ask: a page, or an e-mail address. */
    contact: contact.default(''),
    /** Nobody can tell a private e-mail address from one that is meant for all, so each needs this tick. */
    contactPublic: z.boolean().default(false),
    related: z.array(related).max(10, mostRelated).default([]),
  })
  .superRefine(({ contact: given, contactPublic }, context) => {
    if (!isMail(given) || contactPublic) return;
    context.addIssue({
      code: 'custom',
      path: ['contact'],
      message:
        'This is an e-mail address: everybody will read it, for good, in files that cannot be called back. Tick that it may stand there, or give a page instead.',
    });
  });
export type DepositInput = z.infer<typeof depositInput>;

/** The same while it is being filled in. */
export const depositDraft = z.object({
  doi: line.default(''),
  contact: line.default(''),
  contactPublic: z.boolean().default(false),
  related: z
    .array(z.object({ relation, identifier: line }))
    .max(10, mostRelated)
    .default([]),
});
export type DepositDraft = z.infer<typeof depositDraft>;

/** As a publication tells it: only what was given. */
export const publishedDeposit = z.object({
  doi: z.string().optional(),
  contact: z.string().optional(),
  related: z.array(z.object({ relation, identifier: z.string() })),
});
export type PublishedDeposit = z.infer<typeof publishedDeposit>;

/** What of it readers get; null: nothing was given. */
export function depositTold({
  doi: one,
  contact: where,
  related: works,
}: DepositInput): PublishedDeposit | null {
  if (one === '' && where === '' && works.length === 0) return null;
  return { ...(one !== '' && { doi: one }), ...(where !== '' && { contact: where }), related: works };
}
