import type { VersionFacts } from '@oddglass/db/queries/publication.ts';
import { depositTold, type DepositInput } from '@oddglass/shared/contracts/deposit.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type { PublishDraft, Refusal } from '@oddglass/shared/contracts/publishing.ts';
import type { SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { capital, people } from '@oddglass/shared/ground/phrases.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import {
  peopleOf,
  publicInput,
  type PublicationChoices,
  type PublishableSession,
} from '@oddglass/shared/publication/assemble-choices.ts';
import { refuseSubtraction } from '@oddglass/shared/publication/assemble-refusals.ts';
import { assemblePublication } from '@oddglass/shared/publication/assemble.ts';
import { MIN_BATCH, PublicationRefused } from '@oddglass/shared/publication/disclosure.ts';
import { maskedFairTest, type TrialRecord } from '@oddglass/shared/publication/record-texts.ts';
import { SOFTWARE } from './software.ts';

/** A revealed session as it stands now, with its id and its place in what the host chose. */
export interface Reading extends PublishableSession {
  sessionId: string;
  place: number;
}

/** A version that somebody may have kept, with how many had withdrawn by then. */
export interface Kept {
  publicationId: string;
  version: number;
  /** Text of its result.json: read where there is time for it. */
  result: string;
  withdrawn: VersionFacts['withdrawn'];
  choices: VersionFacts['choices'];
}

/** All that a publication is made of: facts alone, so that it can be handed to a thread. */
export interface Composing {
  /** 32 bytes from which its labels and orders are drawn. */
  seed: Uint8Array;
  draft: Pick<
    PublishDraft,
    'title' | 'licence' | 'comments' | 'caveatAnswers' | 'record' | 'agreeSmall' | 'armNames'
  > & { deposit?: DepositInput | undefined };
  readings: Reading[];
  /** How the arms were made, and what was read of them. */
  record: TrialRecord;
  panel: string;
  publishedOn: string;
  /** Of the trial, by now. */
  tastings: { sealed: number; revealed: number };
  version: number;
  /** The version before, of the same publication. */
  earlier: Kept | null;
  /** All versions of all publications of the trial. */
  kept: readonly Kept[];
}

/** Arms of the sessions, each once, in the order in which the plans name them. */
export function armsOf(readings: readonly Reading[]): { id: string; name: string; differs: string }[] {
  const arms = readings.flatMap(({ input }) => input.session.arms);
  return [...new Map(arms.map((arm) => [arm.id, arm])).values()];
}

type Analyse = (input: SessionInput) => ResultDocument;

/** What has to be analysed for it, a session each, as readers will get it. Those without answers are refused later on. */
export function analysed(composing: Composing): SessionInput[] {
  const arms = publicArms(composing);
  return composing.readings
    .map((reading) => withMaskedRecord(reading, composing).input)
    .filter((input) => peopleOf(input).assessors.length > 0)
    .map((input) => publicInput(input, arms));
}

const publicArms = ({ draft, readings }: Composing): PublicationChoices['arms'] =>
  armsOf(readings).map(({ id, differs }) => ({ armId: id, name: draft.armNames[id] ?? '', differs }));

/**
 * Puts the publication together as it would be published.
 * @throws PublicationRefused when it may not be.
 */
export function compose(composing: Composing, analyse: Analyse): Publication {
  const { draft, earlier, record } = composing;
  const readings = composing.readings.map((reading) => withMaskedRecord(reading, composing));
  const arms = publicArms(composing);
  refuseKept(composing);
  const documents = new Map(
    analysed(composing).map((input) => [input.session.root, analyse(input)] as const),
  );
  const choices: PublicationChoices = {
    title: draft.title,
    panel: composing.panel,
    licence: draft.licence,
    arms,
    comments: draft.comments,
    answers: draft.caveatAnswers.map(({ armId, on, text, answer }) => ({ armId, on, note: text, answer })),
    record: draft.record.include ? { record, passed: draft.record.texts } : null,
    hostAgreesSmall: draft.agreeSmall,
    tastings: composing.tastings,
    publishedOn: composing.publishedOn,
    version: composing.version,
    earlier: earlier && publicationOf(earlier),
  };
  const made = assemblePublication({
    sessions: readings,
    choices,
    random: seededRandom(composing.seed),
    analyse: ({ session }) => {
      const document = documents.get(session.root);
      if (!document) throw new Error('a session without answers is refused before it is analysed');
      return document;
    },
  });
  for (const version of composing.kept) refuseSubtraction(publicationOf(version), made.sessions);
  const deposit = draft.deposit ? depositTold(draft.deposit) : null;
  return { ...made, ...(deposit && { deposit }), software: SOFTWARE };
}

const publicationOf = ({ result }: Kept): Publication => JSON.parse(result) as Publication;

/** Caveats of the fair-test check name no word of the record that the host did not pass, whether the record goes along or not. */
function withMaskedRecord(reading: Reading, { record, draft }: Composing): Reading {
  const { fairTest } = reading.input;
  if (!fairTest) return reading;
  const masked = maskedFairTest(fairTest, record, new Set(draft.record.texts));
  return { ...reading, input: { ...reading.input, fairTest: masked } };
}

/**
 * Withdrawals come in batches between any two versions a reader may hold, also when they stand at two addresses and one
 * of them is withdrawn.
 */
function refuseKept({ readings, kept }: Composing): void {
  for (const [at, { input, withdrawn }] of readings.entries()) {
    for (const version of kept) {
      const since = withdrawn - (version.withdrawn[input.session.root] ?? withdrawn);
      if (since <= 0 || since >= MIN_BATCH) continue;
      throw new PublicationRefused(
        `sessions.${at}.withdrawn`,
        'withdrawals',
        `${capital(people(since))} withdrew from ‘${input.session.title}’ since it was published. Whoever holds that version could subtract this one from it and read their answers. Wait until ${people(MIN_BATCH)} have withdrawn.`,
      );
    }
  }
}

/** A refusal with a pointer into the body that the host sent. */
export function refusalOf(
  { field, reason, message }: PublicationRefused,
  readings: readonly Reading[],
): Refusal {
  return { pointer: pointerOf(field.split('.'), reason, readings), detail: message };
}

function pointerOf(
  [first = '', second = '', third = '']: string[],
  reason: PublicationRefused['reason'],
  readings: readonly Reading[],
): string {
  if (first === 'title') return '#/title';
  if (first === 'choices') {
    if (second === 'hostAgreesSmall') return '#/agreeSmall';
    if (second === 'answers') return '#/caveatAnswers';
    if (second === 'comments') return `#/comments/${third}`;
    const arm = second === 'arms' ? armsOf(readings)[Number(third)] : undefined;
    return arm ? `#/armNames/${arm.id}` : '#/armNames';
  }
  // Subtraction is found once sessions stand in another order.
  const reading = first === 'sessions' && reason !== 'subtraction' ? readings[Number(second)] : undefined;
  return reading ? `#/sessionIds/${reading.place}` : '#/sessionIds';
}
