import type { z } from 'zod';
import type { Part } from '../contracts/part.ts';
import {
  protocol as protocolSchema,
  type Protocol,
  type ProtocolPart,
  type ProtocolSession,
} from '../contracts/protocol.ts';
import type { OriginalFigure, Replication } from '../contracts/replication.ts';
import { sessionInput, type SessionSettings } from '../contracts/session.ts';
import { revealsArmName } from '../rules/title.ts';
import { effectsOf } from '../analysis/forest/effects.ts';
import { packageDigest, readPackage, unzipPackage, type PackageFile } from './package.ts';
import { protocolOf } from './protocol.ts';
import { verifyPackage } from './verify.ts';

/** What was read of a chosen file. `figures`: of each session of a package, by the root of its seal; none with a protocol alone. */
export interface Original {
  ok: true;
  protocol: Protocol;
  digest: string | null;
  figures: { root: string; figures: OriginalFigure[] }[];
}

const NEITHER = 'This file is neither a protocol.json nor a data package (ZIP).';
/** Most that is said of one file. */
const MAX_SENTENCES = 12;
/** Most that a protocol may hold, bytes: a hundred full ones would be smaller. */
const MAX_BYTES = 4 * 1024 * 1024;

/**
 * Reads a protocol.json or a whole data package. Never throws: what does not fit is said in plain sentences. A package is
 * checked against its own sums, seals and counts first, so that figures are taken from a whole one only.
 */
export function readOriginal(bytes: Uint8Array): Original | { ok: false; sentences: string[] } {
  // Every ZIP begins with these two letters.
  const zipped = bytes[0] === 0x50 && bytes[1] === 0x4b;
  return zipped ? readZip(bytes) : readText(bytes);
}

function readText(bytes: Uint8Array): ReturnType<typeof readOriginal> {
  if (bytes.length > MAX_BYTES) return refused('This file is too large for a protocol.json.');
  let value: unknown;
  try {
    value = JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes));
  } catch {
    return refused(NEITHER);
  }
  return readValue(value, { digest: null, figures: [] });
}

function readZip(bytes: Uint8Array): ReturnType<typeof readOriginal> {
  try {
    const wrong = verifyPackage(bytes).filter(({ ok }) => !ok);
    if (wrong.length > 0) {
      return refused(
        'This package does not agree with itself, so nothing is taken from it.',
        ...wrong.slice(0, 3).map(({ name }) => `It differs in: ${name}.`),
      );
    }
    const files = unzipPackage(bytes);
    const publication = readPackage(bytes);
    // Of the checked publication, so that it cannot say something else; where that stood only its own protocol tells.
    const value = protocolOf(publication, addressIn(files));
    if (value === null) return refused('This package is from before protocols could be made of it.');
    const armIds = publication.arms.map(({ id }) => id);
    return readValue(value, {
      digest: packageDigest(files),
      figures: publication.sessions.map((session) => ({
        root: session.seal.root,
        figures: effectsOf(session, armIds),
      })),
    });
  } catch {
    return refused('This package could not be read.');
  }
}

function addressIn(files: readonly PackageFile[]): string | null {
  const own = files.find(({ path }) => path === 'protocol.json');
  if (!own) return null;
  const told = protocolSchema.safeParse(JSON.parse(new TextDecoder().decode(own.bytes)));
  return told.data?.address ?? null;
}

function readValue(
  value: unknown,
  rest: Pick<Original, 'digest' | 'figures'>,
): ReturnType<typeof readOriginal> {
  const read = protocolSchema.safeParse(value);
  if (!read.success) return refused(...sentencesOf(read.error));
  return { ok: true, protocol: read.data, ...rest };
}

/** What of a tasting cannot be asked as it stands, by today's rules for plans; empty where it can. */
export function unfitIn(protocol: Protocol, at: number): string[] {
  const plan = sessionInput.safeParse(
    draftOf(
      protocol,
      at,
      protocol.arms.map((_, place) => madeUpId(place)),
    ),
  );
  return plan.success ? [] : refused(...sentencesOf(plan.error)).sentences;
}

const refused = (...sentences: string[]) => ({
  ok: false as const,
  sentences: [...new Set(sentences)].slice(0, MAX_SENTENCES),
});

const madeUpId = (at: number): string => `00000000-0000-4000-8000-00000000000${at}`;

const PLACES: Readonly<Record<string, string>> = {
  sessions: 'tasting',
  parts: 'part',
  arms: 'arm',
  samples: 'sample',
  attributes: 'attribute',
  words: 'word',
  degrees: 'degree',
};

/** What a contract says, with where it says it: 'tasting 1, part 2, alpha: …'. */
function sentencesOf({ issues }: z.ZodError): string[] {
  return issues.map(({ path, message }) => {
    // What the library says by itself is meant for programmers.
    const words =
      message.startsWith('Invalid') || message.startsWith('Too')
        ? 'This is missing, or not of the form that is needed.'
        : message;
    const places = path.reduce<string[]>((told, step) => {
      const last = told.at(-1) ?? '';
      return typeof step === 'number' && Object.hasOwn(PLACES, last)
        ? [...told.slice(0, -1), `${PLACES[last] ?? last} ${step + 1}`]
        : [...told, typeof step === 'number' ? `number ${step + 1}` : String(step)];
    }, []);
    const where = places.join(', ');
    return where === '' ? words : `${where}: ${words}`;
  });
}

/** Words that go by another id in the panel that repeats; by the id of the original. */
export type WordIds = ReadonlyMap<string, string>;

/**
 * The settings of a draft that asks what tasting `at` (from 0) of the protocol asked; `armIds` stand for its arms, in its order.
 * @throws RangeError for a tasting that it has not.
 */
export function draftOf(
  protocol: Protocol,
  at: number,
  armIds: readonly string[],
  words: WordIds = new Map(),
): SessionSettings {
  const session = sessionAt(protocol, at);
  const { title, assessors, spareSeats, sites, cupMl, restSeconds, masking, lingering, parts } = session;
  const ids = new Map(protocol.arms.map(({ name }, place) => [name, armIds[place] ?? '']));
  // Assessors read the title: readers know the arms by names that it may hold.
  const tells = revealsArmName(
    title,
    protocol.arms.map(({ name }) => name),
  );
  return {
    title: tells ? 'Blind tasting' : title,
    assessors,
    spareSeats,
    cupMl,
    restSeconds,
    // Where the original was held stays with it: here they are numbers until the host names them.
    ...(sites && { sites: sites.map((one, at) => ({ name: `Place ${at + 1}`, ...one })) }),
    ...(lingering !== null && lingering.length > 0 && { lingering }),
    masking: masking ?? false,
    servingNote: '',
    parts: parts.map((part) => plannedPart(part, (name) => ids.get(name) ?? '', words)),
  };
}

function sessionAt({ sessions }: Protocol, at: number): ProtocolSession {
  const session = sessions[at];
  if (!session) throw new RangeError(`There is no tasting ${at + 1} in this protocol.`);
  return session;
}

function plannedPart(part: ProtocolPart, idOf: (name: string) => string, words: WordIds): Part {
  if ('arms' in part) {
    const { arms, ...rest } = part;
    const armIds = arms.map(idOf);
    if (rest.kind === 'three-afc') {
      const { strongerArm, ...open } = rest;
      return { ...open, armIds, strongerArmId: idOf(strongerArm) };
    }
    if (rest.kind === 'directional-pair') {
      const { strongerArm, ...open } = rest;
      return { ...open, armIds, strongerArmId: strongerArm === null ? null : idOf(strongerArm) };
    }
    return { ...rest, armIds };
  }
  const samples = part.samples.map(({ arm, ...sample }) => ({ ...sample, armId: idOf(arm) }));
  if (part.kind === 'control') {
    const { controlArm, ...rest } = part;
    return { ...rest, samples, controlArmId: idOf(controlArm) };
  }
  if (part.kind !== 'description') return { ...part, samples };
  const live = (id: string): string => words.get(id) ?? id;
  const { late } = part;
  return {
    ...part,
    samples,
    words: part.words === null ? null : [...new Set(part.words.map(({ id }) => live(id)))],
    ...(late && { late: { ...late, words: [...new Set(late.words.map(live))] } }),
  };
}

/** What the trial is about, as a new trial takes it; how much there is of an arm, and what is in it, only its host knows. */
export function trialOf({ title, question, factor, base, arms }: Protocol): {
  title: string;
  question: string;
  factor: string;
  base: string;
  arms: { name: string; differs: string }[];
} {
  const lines = base.map(({ label, value }) => `${label}: ${value}`).join('\n');
  return { title: title.slice(0, 100), question, factor, base: lines.slice(0, 500), arms: arms.slice() };
}

/** The link from a draft to the tasting that it repeats. */
export function replicationOf(original: Original, at: number, armIds: readonly string[]): Replication {
  const { root } = sessionAt(original.protocol, at);
  return {
    root,
    title: original.protocol.title,
    address: original.protocol.address,
    digest: original.digest,
    armIds: [...armIds],
    figures: (original.figures.find((one) => one.root === root)?.figures ?? []).slice(0, 300),
  };
}
