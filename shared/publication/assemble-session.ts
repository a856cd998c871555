import type { OpenedLeaf, OrderCount, PublishedRow, PublishedSession } from '../contracts/publication.ts';
import type { SampleRole } from '../contracts/part.ts';
import type { RandomSource } from '../ground/random.ts';
import { fairTestOfPart, sayFirst } from '../analysis/common/fair-test.ts';
import type { SessionInput } from '../analysis/analyse.ts';
import type { ResultDocument } from '../contracts/result.ts';
import { recordForReaders, withRecord } from '../analysis/reveal-record.ts';
import { proveLeaves } from '../design/seal.ts';
import {
  peopleOf,
  publicInput,
  type AssembleInput,
  type PublicationChoices,
  type PublishableSession,
} from './assemble-choices.ts';
import { disclosePart } from './disclosure-parts.ts';
import { type DisclosedPart } from './disclosure-context.ts';
import { FULL_FROM, PublicationRefused, tierOf, type Protections, type Withheld } from './disclosure.ts';
import { plannedBesides } from './planned-besides.ts';
import { publishedRows } from './rows.ts';
import { givenWords } from './rows-words.ts';
import { servingOf } from './serving.ts';
import { publishedSites } from './sites.ts';
import { untoldOf, type Untold } from './untold.ts';

export interface SessionOptions {
  choices: PublicationChoices;
  analyse: AssembleInput['analyse'];
  random: RandomSource;
  protections: Protections;
  withheld: Withheld;
  drawn: Set<string>;
}

/** A session as published, all but its running number, with the moment that number is drawn by. */
export interface AssembledSession {
  session: Omit<PublishedSession, 'number'>;
  /** Why rows are not there; null where they are. */
  noRows: 'panel' | 'consent' | null;
  /** Arms whose samples stay closed, because readers know them by another name than was sealed. */
  renamed: string[];
}

export function assembleSession(
  given: PublishableSession,
  at: number,
  options: SessionOptions,
): AssembledSession {
  const { choices, analyse, protections, withheld } = options;
  const input = publicInput(given.input, choices.arms, protections);
  withheld.cells += input.swallowingWithheld?.length ?? 0;
  const { seated, assessors } = peopleOf(input);
  const tier = tierOf(assessors.length) ?? 'agreed';
  const words = givenWords(input, protections);
  const analysed = analyse(input);
  const exact = !protections.panelTiers || tier === 'full';
  const result = given.atReveal
    ? withRecord(analysed, given.atReveal, (record) => recordForReaders(record, exact))
    : analysed;
  refuseUnsound(result, input, at);
  const noRows = whyNoRows(given, assessors, protections);
  const untold: Untold[] = [];
  const told = result.parts.flatMap((part) => {
    const own = tierOf(part.served.assessors);
    if (protections.panelTiers && own === 'agreed' && tier !== 'agreed') {
      withheld.parts += 1;
      return [];
    }
    const rare = words.rareIn(part.part);
    const disclosed = disclosePart(part, {
      tier: own ?? tier,
      protections,
      rare,
      rowsTold: noRows === null,
      withheld,
    });
    if (!disclosed) return [];
    untold.push(...untoldOf(part, disclosed.part));
    // A sentence that was written anew for readers keeps what stands before it.
    const finding = sayFirst(disclosed.part.finding, fairTestOfPart(input, part.part));
    return [{ ...disclosed, part: { ...disclosed.part, finding } as typeof disclosed.part }];
  });
  withheld.words += words.rare.size;
  const { seal, renamed } = openSeal(given, at, options);
  const { session } = input;
  const sites = publishedSites(given, input, result, told);
  return {
    session: {
      title: session.title,
      heldIn: protections.coarseTimes ? session.revealedAt.slice(0, 7) : session.revealedAt,
      blinding: session.blinding,
      tier,
      seated: seated.length,
      assessors: assessors.length,
      // As it is also where it is small: before the first version there is none to subtract from.
      withdrawn: given.withdrawn,
      ...(given.atReveal?.withdrawnSince && {
        atReveal: result.atReveal,
        withheld: result.withheld ?? [],
      }),
      ...(session.keyReaders && { keyReaders: session.keyReaders }),
      serving: servingOf(input, choices.record?.passed ?? []),
      ...(sites && { sites }),
      untold,
      seal,
      samples: namedSamples(given, input.samples, choices),
      parts: told.map(({ part }) => part),
      orders: told.flatMap(({ orders }): OrderCount[] => orders),
      // As the host knows the arms: a word may name one.
      ...(given.offered && { plan: plannedBesides(given.input, given.offered, given.leaves) }),
      rows:
        noRows === null
          ? publishedRows(input, { ...options, words }).filter((row) => isTold(row, told, protections))
          : null,
    },
    noRows,
    renamed,
  };
}

/** What could not be worked out waits until it can, and answers that are not those that were sealed are never published. */
function refuseUnsound(result: ResultDocument, input: SessionInput, at: number): void {
  if (result.failed.length > 0) {
    throw new PublicationRefused(
      `sessions.${at}.input`,
      'invalid',
      `Part ${result.failed[0]?.part ?? 1} of ‘${input.session.title}’ could not be worked out: a publication is for good, so it waits until that is mended.`,
    );
  }
  if (input.session.answersIntact === false) {
    throw new PublicationRefused(
      `sessions.${at}.input`,
      'seal',
      `The answers of ‘${input.session.title}’ are not those that were sealed when the tasting closed: some were changed, added or deleted since.`,
    );
  }
}

/** A part, or an attribute, of which too few people could be told is not told in rows either, nor exactly where it is told coarsely. */
function isTold(row: PublishedRow, told: readonly DisclosedPart[], { panelTiers }: Protections): boolean {
  return told.some(
    ({ part }) =>
      part.part === row.part &&
      (!panelTiers || part.served.assessors >= FULL_FROM) &&
      (part.kind !== 'rating' || part.attributes.some(({ name }) => name === row.question)),
  );
}

function whyNoRows(
  { consents }: PublishableSession,
  assessors: readonly string[],
  protections: Protections,
): AssembledSession['noRows'] {
  if (protections.panelTiers && assessors.length < FULL_FROM) return 'panel';
  if (protections.rowsByConsent && !assessors.every((one) => consents.get(one)?.rows)) return 'consent';
  return null;
}

/** Settings, trays, and samples under their sealed names are opened with their paths; the seating never is. */
function openSeal(
  { input, leaves, answersSize }: PublishableSession,
  at: number,
  { choices, protections }: SessionOptions,
): { seal: PublishedSession['seal']; renamed: string[] } {
  const { session } = input;
  const names = new Map(choices.arms.map(({ armId, name }) => [armId, name.normalize()]));
  let proven: ReturnType<typeof proveLeaves>;
  try {
    proven = proveLeaves(leaves);
  } catch (reason) {
    if (reason instanceof RangeError) throw notSealed(at, reason.message);
    throw reason;
  }
  if (proven.root !== session.root) throw notSealed(at, 'They lead to another root.');
  const renamed = new Set<string>();
  const opened = proven.leaves.filter(({ kind, body }): boolean => {
    if (kind === 'seating') return !protections.closedSeating;
    if (kind !== 'sample') return true;
    const name = names.get(String(body['armId'])) ?? '';
    const same = body['armName'] === name;
    if (!same) renamed.add(name);
    return same;
  });
  return {
    seal: {
      root: session.root,
      fingerprint: session.fingerprint,
      size: leaves.length,
      ...(session.answersRoot !== undefined &&
        answersSize !== undefined && { answersRoot: session.answersRoot, answersSize }),
      leaves: opened satisfies OpenedLeaf[],
    },
    renamed: [...renamed].sort(),
  };
}

function notSealed(at: number, why: string): PublicationRefused {
  return new PublicationRefused(
    `sessions.${at}.leaves`,
    'seal',
    `These are not the leaves that were sealed. ${why}`,
  );
}

const ROLE_NOTES: Readonly<Record<SampleRole, string>> = {
  sample: '',
  duplicate: ' (hidden duplicate)',
  spiked: '',
  'warm-up': ' (warm-up)',
};

/** What stands behind the sample ids of the trays, from the leaves of the samples, in the random order of their leaves. */
function namedSamples(
  { leaves }: PublishableSession,
  facts: ReturnType<typeof publicInput>['samples'],
  choices: PublicationChoices,
): PublishedSession['samples'] {
  return leaves
    .filter(({ kind }) => kind === 'sample')
    .sort((a, b) => a.index - b.index)
    .map(({ body }) => {
      const part = Number(body['part']);
      const role = body['role'] as SampleRole;
      const control = (body['control'] ?? null) as 'marked' | 'hidden' | null;
      const arm = choices.arms.find(({ armId }) => armId === body['armId'])?.name ?? '';
      const known = facts.find(
        (one) =>
          one.part === part &&
          one.armId === body['armId'] &&
          one.role === role &&
          one.spike === (body['spike'] ?? null) &&
          one.control === (control === 'hidden') &&
          control !== 'marked',
      );
      const note = control === 'marked' ? ' (marked control)' : ROLE_NOTES[role];
      return { sampleId: String(body['id']), part, arm, name: known?.name ?? `${arm}${note}`, role, control };
    });
}
