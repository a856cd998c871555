import { howMany } from '@oddglass/shared/ground/phrases.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { Publication, PublishedSession } from '@oddglass/shared/contracts/publication.ts';
import type { SessionFacts } from '@oddglass/shared/contracts/result-common.ts';
import { tierOf } from '@oddglass/shared/publication/disclosure.ts';
import type { Told } from '#lib/result/told.ts';

/** What the opened settings leaf of a seal says, as far as a reader needs it. */
export interface SealedSettings {
  assessors: number;
  cupMl: number;
  restSeconds: number;
  parts: Partial<Part>[];
}

/** The settings as they were sealed; numbers that an older seal did not fix are null. */
export function sealedSettings(session: PublishedSession): {
  [Name in keyof SealedSettings]: SealedSettings[Name] | null;
} {
  const body = session.seal.leaves.find(({ kind }) => kind === 'settings')?.body ?? {};
  const numberOf = (value: unknown): number | null => (typeof value === 'number' ? value : null);
  return {
    assessors: numberOf(body['assessors']),
    cupMl: numberOf(body['cupMl']),
    restSeconds: numberOf(body['restSeconds']),
    parts: Array.isArray(body['parts']) ? (body['parts'] as Partial<Part>[]) : null,
  };
}

/** A published session as the components of a result want it. Of the reveal only the month is known. */
export function sessionFactsOf(publication: Publication, session: PublishedSession): SessionFacts {
  const { assessors, cupMl, restSeconds } = sealedSettings(session);
  return {
    title: session.title,
    trialTitle: publication.title,
    question: publication.question,
    factor: publication.factor,
    demo: publication.demo,
    arms: publication.arms,
    blinding: session.blinding,
    // The caveats tell it.
    smellOnly: false,
    stopped: false,
    fingerprint: session.seal.fingerprint,
    root: session.seal.root,
    revealedAt: `${session.heldIn}-01T00:00:00.000Z`,
    assessors: assessors ?? session.seated,
    cupMl: cupMl ?? 0,
    restSeconds: restSeconds ?? 0,
  };
}

/** '2031-03' as 'March 2031'. */
export function monthWords(month: string): string {
  return new Intl.DateTimeFormat('en-GB', { month: 'long', year: 'numeric', timeZone: 'UTC' }).format(
    new Date(`${month}-01T00:00:00Z`),
  );
}

/** '2031-03-20' as '20 March 2031'. */
export function dayWords(day: string): string {
  return new Intl.DateTimeFormat('en-GB', { dateStyle: 'long', timeZone: 'UTC' }).format(
    new Date(`${day}T00:00:00Z`),
  );
}

/** 'one assessor', 'twelve assessors', '13 assessors'. */
export function peopleWords(count: number, noun = 'assessor'): string {
  return `${howMany(count)} ${noun}${count === 1 ? '' : 's'}`;
}

/**
 * Sessions of one page each count their parts from 1; anchors need numbers of the page's own.
 * @returns hundreds for the session after the first, so that a publication of one session keeps its numbers.
 */
export function pagePart(session: number, part: number): number {
  return (session - 1) * 100 + part;
}

/** What the page calls a part: by session, where there are several. */
export function pagePartName(sessions: number): (part: number) => string {
  return (part) =>
    sessions > 1 ? `Session ${Math.floor(part / 100) + 1}, part ${part % 100}` : `Part ${part}`;
}

/** What readers get of a part: whether it stands rounded, and what of it is withheld. */
export function toldOfPart(session: PublishedSession, part: number, assessors: number): Told {
  const own = session.untold?.filter((one) => one.part === part).map(({ figure }) => figure);
  return { coarse: (tierOf(assessors) ?? session.tier) !== 'full', untold: own ? new Set(own) : null };
}
