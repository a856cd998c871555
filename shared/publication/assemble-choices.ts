import type { SessionInput } from '../analysis/analyse.ts';
import type { ServingConditions } from '../contracts/pour.ts';
import type { Licence, Publication } from '../contracts/publication.ts';
import type { ResultDocument } from '../contracts/result.ts';
import type { AtReveal } from '../contracts/reveal-record.ts';
import type { SealLeaf } from '../contracts/seal.ts';
import type { RandomSource } from '../ground/random.ts';
import { PROTECTIONS, PublicationRefused, type Protections } from './disclosure.ts';
import type { OfferedWord } from './planned-besides.ts';
import type { RecordChoice } from './record.ts';
import { unanalysedOf } from './unanalysed.ts';
import { safeSwallowing } from './swallowing.ts';

/** What an assessor agreed to at the seat. */
export interface Consent {
  /** Own answers as rows under a fresh label. */
  rows: boolean;
  /** Being one of fewer than five people whose answers are told. */
  smallGroup: boolean;
}

/** A revealed session as it may be published: whoever withdrew is in `withdrawn` and nowhere else. */
export interface PublishableSession {
  input: SessionInput;
  /** All leaves of the seal, in any order; which are opened is decided here. */
  leaves: readonly SealLeaf[];
  /** By the label of `input`; who is missing has agreed to nothing. */
  consents: ReadonlyMap<string, Consent>;
  /** People who withdrew their answers so far. */
  withdrawn: number;
  /** What was found at the reveal; left out where that was not kept. */
  atReveal?: AtReveal;
  /** Seats under the seal of all answers; left out where there is none. */
  answersSize?: number;
  /** Words that were offered, as the vocabulary had them; left out: nothing is told of the plan beyond its seal. */
  offered?: readonly OfferedWord[];
}

/** What the host decides and confirms. */
export interface PublicationChoices {
  title: string;
  panel: string;
  licence: Licence;
  /** Every arm of the sessions, with the name readers get. */
  arms: readonly { armId: string; name: string; differs: string }[];
  /** Lines of comments or own words that the host passed, word for word as they were written. */
  comments: readonly string[];
  /** An answer to each deviation that the trial record holds of a published arm. */
  answers: readonly { armId: string; on: string; note: string; answer: string }[];
  /** Tastings of the trial by the day of publishing; left out: not known. */
  tastings?: { sealed: number; revealed: number };
  /** How the arms were made and what was read of them; null: the host leaves it out; left out: nobody asked. */
  record?: RecordChoice | null;
  /** Does the host agree to publish a group of fewer than five? */
  hostAgreesSmall: boolean;
  /** YYYY-MM-DD. */
  publishedOn: string;
  version: number;
  /** The version before this one as it was published; null for the first. */
  earlier: Publication | null;
}

export interface AssembleInput {
  /** Revealed sessions of one trial. */
  sessions: readonly PublishableSession[];
  choices: PublicationChoices;
  random: RandomSource;
  /** `analyseSession`, or a look-up of what it gave for `publicInput` in another thread. */
  analyse: (input: SessionInput) => ResultDocument;
  /** Switched off by the attack test alone. */
  protections?: Protections;
}

/**
 * A session as it is analysed for readers: arms and samples under their public names. Left out: what became of the cups
 * where that points to people, and how somebody put into words what the arms looked like, which may name them. Everything else as it was.
 * An arm without a public name: PublicationRefused.
 */
export function publicInput(
  input: SessionInput,
  arms: PublicationChoices['arms'],
  protections: Pick<Protections, 'smallGroups'> = PROTECTIONS,
): SessionInput {
  const choice = new Map(arms.map((arm) => [arm.armId, arm]));
  const sealedNames = new Map(input.session.arms.map(({ id, name }) => [id, name]));
  return {
    ...input,
    ...safeSwallowing(input, protections),
    ...(protections.smallGroups && unanalysedOf(input)),
    session: {
      ...input.session,
      ...(input.session.conditions && { conditions: { ...input.session.conditions, how: '' } }),
      // Names of places may be those where people live.
      ...(input.session.sites && { sites: input.session.sites.map(publicSite) }),
      arms: input.session.arms.map(({ id, name }) => {
        const arm = choice.get(id);
        if (!arm) throw new PublicationRefused('choices.arms', 'arms', `Give ${name} a name for readers.`);
        return { id, name: arm.name, differs: arm.differs };
      }),
    },
    samples: input.samples.map((sample) => {
      const was = sealedNames.get(sample.armId) ?? '';
      const now = choice.get(sample.armId)?.name ?? was;
      // 'Cool (hidden duplicate)': what follows the name of the arm says what the cup is there for.
      const rest = was !== '' && sample.name.startsWith(was) ? sample.name.slice(was.length) : '';
      return { ...sample, name: `${now}${rest}` };
    }),
  };
}

/** What was noted of the cups, without what was put into words: it may name arms, people and places. */
function withoutWords({ transport: _transport, ...conditions }: ServingConditions): ServingConditions {
  return { ...conditions, how: '' };
}

type Place = NonNullable<SessionInput['session']['sites']>[number];

/** A place as readers know it: by its number, without what somebody put into words. */
function publicSite({ conditions, ...place }: Place, at: number): Place {
  return {
    ...place,
    name: `place ${at + 1}`,
    ...(conditions && { conditions: withoutWords(conditions) }),
  };
}

/** People with an answer, and people who took a seat. */
export function peopleOf({ trays }: SessionInput): { seated: string[]; assessors: string[] } {
  return {
    seated: [...new Set(trays.map(({ assessor }) => assessor))],
    assessors: [
      ...new Set(trays.filter(({ ballots }) => ballots.length > 0).map(({ assessor }) => assessor)),
    ],
  };
}

/** Every line that assessors wrote in their own words: comments, and words of their own. */
export function linesOf(input: SessionInput): string[] {
  return input.trays.flatMap(({ ballots }) =>
    ballots.flatMap(({ answer, comment }) => [
      ...(comment === '' ? [] : [comment]),
      ...(answer.kind === 'description' ? answer.ownWords : []),
    ]),
  );
}
