import { publication, type Publication, type PublishedSession } from '../contracts/publication.ts';
import type { MethodNote } from '../contracts/result-common.ts';
import { FOREST_METHOD, forestsOf } from '../analysis/forest/forest.ts';
import { shuffled, type RandomSource } from '../ground/random.ts';
import { linesOf, type AssembleInput } from './assemble-choices.ts';
import { answeredDeviations, refuseEarly, refuseSubtraction } from './assemble-refusals.ts';
import { assembleSession, type AssembledSession } from './assemble-session.ts';
import { disclosureSentences } from './disclosure-sentences.ts';
import { publishedRecord } from './record.ts';
import { sideBySide } from './side-by-side.ts';
import {
  nothingWithheld,
  PROTECTIONS,
  PublicationRefused,
  type Protection,
  type Protections,
} from './disclosure.ts';

/**
 * Puts a publication together from revealed sessions of one trial and the host's choices: opens the seal as far as it may
 * be, tells results as far as the size of the panel allows, draws labels and orders from `random`, and says in sentences
 * what was withheld. The same sessions under another random source share no label and no order of rows.
 *
 * Errors: PublicationRefused, naming the field, for whatever may not be published (fewer than five people without
 * everybody's yes, one or two withdrawals since the last version, versions that would tell by subtraction, empty sessions,
 * leaves of another seal, arms without a name, unanswered deviations, lines nobody wrote), or does not fit the format.
 */
export function assemblePublication(given: AssembleInput): Publication {
  refuseEarly(given);
  const { choices, random, analyse, sessions } = given;
  const protections: Protections = given.protections ?? PROTECTIONS;
  const withheld = nothingWithheld();
  const drawn = new Set<string>();
  const assembled = sessions.map((session, at) =>
    assembleSession(session, at, { choices, analyse, random, protections, withheld, drawn }),
  );
  const lines = sessions.flatMap(({ input }) => linesOf(input)).length;
  const first = sessions[0]?.input.session;
  const inOrder = ordered(assembled, protections, random);
  const arms = choices.arms
    .filter(({ armId }) => sessions.some(({ input }) => input.session.arms.some(({ id }) => id === armId)))
    .map(({ armId, name, differs }) => ({ id: armId, name, differs }));
  const numbered = inOrder.map(({ session }, at): PublishedSession => {
    const beside = sideBySide({ arms }, session);
    return { number: at + 1, ...session, ...(beside && { beside }) };
  });
  const forests = forestsOf(
    numbered.map(({ number, title, heldIn, parts }) => ({
      session: String(number),
      name: title,
      on: heldIn,
      parts,
    })),
    arms,
  );
  const made: Publication = {
    format: 'oddglass-publication-1',
    title: choices.title.trim(),
    version: choices.version,
    publishedOn: choices.publishedOn,
    licence: choices.licence,
    demo: sessions.some(({ input }) => input.session.demo),
    panel: choices.panel,
    question: first?.question ?? '',
    factor: first?.factor ?? '',
    arms,
    sessions: numbered,
    ...(choices.tastings && { tastings: choices.tastings }),
    // By wording, so that the order of lines tells nothing.
    comments: [...choices.comments].sort(),
    caveats: answeredDeviations(given),
    ...cautionsOf(given),
    ...(choices.record && { record: publishedRecord(choices.record, { arms, sessions: numbered }) }),
    ...(forests.length > 0 && { forests }),
    methods: [...METHODS, ...(forests.length > 0 ? [FOREST_METHOD] : [])],
    disclosure: disclosureSentences({
      sessions: assembled,
      withheld,
      passed: choices.comments.length,
      written: lines,
      version: choices.version,
      recordLeftOut: choices.record === null,
    }),
  };
  if (protections.batchedWithdrawals) refuseSubtraction(choices.earlier, made.sessions);
  return Object.keys(PROTECTIONS).every((name) => protections[name as Protection]) ? fitting(made) : made;
}

/** Allergens of all tables together, where each session tells its own. */
function cautionsOf({ sessions }: AssembleInput): Pick<Publication, 'cautions'> {
  const told = sessions.map(({ input }) => input.allergens);
  if (told.includes(undefined)) return {};
  const allergens = told.flatMap((one) => one?.allergens ?? []);
  return {
    cautions: {
      allergens: [...new Set(allergens)].sort(),
      allergensUnknown: told.some((one) => one?.unknown),
    },
  };
}

/** By month; within a month at random, for who came on which day is known to others. */
function ordered(
  sessions: readonly AssembledSession[],
  { coarseTimes }: Protections,
  random: RandomSource,
): AssembledSession[] {
  const mixed = coarseTimes ? shuffled(random, sessions) : [...sessions];
  return mixed.sort((a, b) =>
    a.session.heldIn < b.session.heldIn ? -1 : a.session.heldIn > b.session.heldIn ? 1 : 0,
  );
}

/** The publication without anything that its format does not name. */
function fitting(made: Publication): Publication {
  const checked = publication.safeParse(made);
  if (checked.success) return checked.data;
  const [issue] = checked.error.issues;
  const field = issue?.path.join('.') ?? '';
  throw new PublicationRefused(field, 'invalid', `${field}: ${issue?.message ?? 'does not fit the format.'}`);
}

/** How a publication as such is made; each part has its own notes. */
const METHODS: readonly MethodNote[] = [
  {
    id: 'seal',
    name: 'Seal of settings, samples, trays and seating',
    explains:
      'Before the first cup everything was fixed under one root. What is opened here carries a path of hashes that leads to that root; the seating stays closed under random numbers of 256 bits.',
    source: 'Merkle tree of RFC 9162, section 2.1, over canonical JSON, RFC 8785; SHA-256',
    inputs: 'opened leaves, their numbers and paths, and the root',
    assumption: 'The root was shown or written down before the tasting.',
  },
  {
    id: 'suppression',
    name: 'Withheld cells',
    explains:
      'Groups too small to be told are withheld, and with them as many more as it takes until neither outsiders nor one of the group can work out a withheld one from the totals.',
    source:
      'Hundepool et al. 2012, Statistical Disclosure Control, chapter 4 (from memory); thresholds: common practice, no source',
    inputs: 'sizes of groups and their totals',
    assumption: 'Who is in which group may be known to an attendee through an opened tray.',
  },
];
