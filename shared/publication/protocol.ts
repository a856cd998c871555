import { z } from 'zod';
import {
  protocol as protocolSchema,
  type Protocol,
  type ProtocolSession,
  type ProtocolWord,
} from '../contracts/protocol.ts';
import type { Publication, PublishedSession } from '../contracts/publication.ts';
import { builtInWords } from './planned-besides.ts';

/** What the sealed settings say (`server/features/session/samples.ts`), as far as a protocol needs it. */
const sealed = z.object({
  assessors: z.number(),
  spareSeats: z.number(),
  cupMl: z.number(),
  restSeconds: z.number(),
  /** Several places, by their sizes. */
  sites: z.array(z.object({ assessors: z.number(), spareSeats: z.number() })).optional(),
  parts: z.array(z.looseObject({ kind: z.string(), samples: z.array(z.string()) })),
});
type SealedPart = z.infer<typeof sealed>['parts'][number];

/**
 * The protocol of a publication: what was asked, from the opened settings of each seal and under the names that readers know.
 * It holds no code, order, seed, person, seat or day. Tastings whose settings are not opened are not in it; null where none
 * is, or where an older seal does not say enough.
 * @param url address of the page, where it is known.
 */
export function protocolOf(publication: Publication, url: string | null): Protocol | null {
  const { title, question, factor, arms, record } = publication;
  const sessions = publication.sessions.flatMap((session) => {
    const own = protocolSession(publication, session);
    return own ? [own] : [];
  });
  const made = protocolSchema.safeParse({
    protocol: 1,
    title,
    address: url,
    question,
    factor,
    arms: arms.map(({ name, differs }) => ({ name, differs })),
    base: (record?.base ?? []).slice(0, 20),
    sessions,
  });
  return made.success ? made.data : null;
}

function protocolSession(publication: Publication, session: PublishedSession): ProtocolSession | null {
  const { seal, title, plan } = session;
  const settings = sealed.safeParse(seal.leaves.find(({ kind }) => kind === 'settings')?.body);
  if (!settings.success) return null;
  const { parts, ...rest } = settings.data;
  const words = wordsOf(session);
  const made = {
    root: seal.root,
    title,
    ...rest,
    masking: plan?.masking ?? null,
    lingering: plan ? (plan.lingering ?? []) : null,
    parts: parts.map((part, at) => partOf(part, at + 1, { publication, session, words })),
  };
  return protocolSchema.shape.sessions.element.safeParse(made).data ?? null;
}

interface Told {
  publication: Publication;
  session: PublishedSession;
  words: ReadonlyMap<string, ProtocolWord>;
}

/** Words of the sealed edition, over them those of the panel's own, and of others as much as a result tells. */
function wordsOf({ seal, plan, parts }: PublishedSession): Map<string, ProtocolWord> {
  const told = parts.flatMap((part) =>
    part.kind === 'description'
      ? part.words.map(({ id, word, family }) => ({ id, word, family, definition: null }))
      : [],
  );
  return new Map(
    [...told, ...builtInWords(seal.leaves), ...(plan?.words ?? [])].map((word) => [word.id, word]),
  );
}

function partOf(part: SealedPart, number: number, told: Told): Record<string, unknown> {
  const { samples: _ids, strongerSample, control, vocabularyVersion: _version, ...rest } = part;
  const poured = told.session.samples.filter((one) => one.part === number);
  const armOf = (sample: unknown): string | null =>
    poured.find(({ sampleId }) => sampleId === sample)?.arm ?? null;
  if (isChoiceKind(part)) {
    return {
      ...rest,
      arms: armsInOrder(part, number, told),
      ...(strongerSample !== undefined && { strongerArm: armOf(strongerSample) }),
    };
  }
  return {
    ...rest,
    samples: poured
      .filter((one) => one.control === null)
      .map((one) => sampleOf(one, number, told))
      .sort((a, b) => place(a.arm, told) - place(b.arm, told) || (a.role < b.role ? 1 : -1)),
    ...(control !== undefined && { controlArm: armOf(control) }),
    ...(part.kind === 'description' && { words: offered(rest['words'], told) }),
  };
}

/** Choices are over two arms, flights over samples: a flight says whose cups it is asked on. */
const isChoiceKind = (part: SealedPart): boolean => !('cups' in part);

const place = (arm: string, { publication }: Told): number =>
  publication.arms.findIndex(({ name }) => name === arm);

/**
 * The two arms of a choice in the order in which they were planned: where nothing tells it, in that of the publication,
 * the arm in a constant reference first.
 */
function armsInOrder(part: SealedPart, number: number, told: Told): string[] {
  const { publication, session } = told;
  const result = session.parts.find((one) => one.part === number);
  const named = new Map(publication.arms.map(({ id, name }) => [id, name]));
  if (result && 'armIds' in result.settings) return result.settings.armIds.map((id) => named.get(id) ?? '');
  const arms = [...new Set(session.samples.filter((one) => one.part === number).map(({ arm }) => arm))].sort(
    (a, b) => place(a, told) - place(b, told),
  );
  if (part['reference'] !== 'constant') return arms;
  const marked = session.seal.leaves
    .filter(({ kind, body }) => kind === 'tray' && body['part'] === number)
    .flatMap(({ body }) => body['servings'] as { sampleId: string; mark: string | null }[])
    .find(({ mark }) => mark === 'reference');
  const first = session.samples.find(({ sampleId }) => sampleId === marked?.sampleId)?.arm;
  return arms.sort((a, b) => Number(b === first) - Number(a === first));
}

/** A sample with what is known of what was added; of older publications only that it was, by its name. */
function sampleOf(
  { sampleId, arm, role, name }: PublishedSession['samples'][number],
  number: number,
  { session }: Told,
): { arm: string; role: string; spike: string | null } {
  if (role !== 'spiked') return { arm, role, spike: null };
  const leaf = session.seal.leaves.find(({ kind, body }) => kind === 'sample' && body['id'] === sampleId);
  const byName = name.startsWith(`${arm} + `) ? name.slice(arm.length + 3) : name;
  const spike = typeof leaf?.body['spike'] === 'string' ? leaf.body['spike'] : byName;
  const known = session.plan?.spikes.find((one) => one.part === number && one.spike === spike);
  const { part: _part, ...rest } = known ?? { part: number, spike };
  return { arm, role, ...rest };
}

function offered(ids: unknown, { words }: Told): ProtocolWord[] | null {
  if (!Array.isArray(ids)) return null;
  return ids.map(
    (id: string) => words.get(id) ?? { id, word: id.replaceAll('-', ' '), family: '', definition: null },
  );
}
