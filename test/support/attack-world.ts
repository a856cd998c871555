import { analyseSession, type SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { randomInt, seededRandom, shuffled, type RandomSource } from '@oddglass/shared/ground/random.ts';
import { assemblePublication } from '@oddglass/shared/publication/assemble.ts';
import type {
  PublishableSession,
  PublicationChoices,
} from '@oddglass/shared/publication/assemble-choices.ts';
import {
  PROTECTIONS,
  PublicationRefused,
  type Protections,
} from '@oddglass/shared/publication/disclosure.ts';
import { seedOf } from '../design/chance.ts';
import {
  ARMS,
  DUO_TRIO,
  labelOf,
  PARTS,
  RATING,
  people,
  someSeats,
  tasting,
  TRIANGLE,
  without,
  type Person,
  type Tasting,
} from './attack-panel.ts';

// The analysis does not depend on what is switched off: one and the same session is analysed once.
const analysed = new Map<string, ResultDocument>();
function analyse(input: SessionInput): ResultDocument {
  const key = `${input.session.root} ${input.trays.map(({ assessor }) => assessor).join(' ')}`;
  const known = analysed.get(key) ?? analyseSession(input);
  analysed.set(key, known);
  return known;
}

const CHOICES: Omit<PublicationChoices, 'version' | 'earlier'> = {
  title: 'Does the temperature matter?',
  panel: 'An invented panel',
  licence: 'CC-BY-4.0',
  arms: ARMS,
  comments: [],
  answers: [],
  hostAgreesSmall: true,
  publishedOn: '2031-04-01',
};

// Nor does what people tasted and said.
const tasted = new Map<string, Tasting>();
function once(key: string, make: () => Tasting): Tasting {
  const made = tasted.get(key) ?? make();
  tasted.set(key, made);
  return made;
}

export function publish(
  sessions: PublishableSession[],
  protections: Protections,
  random: RandomSource,
  earlier: Publication | null = null,
): Publication {
  const version = (earlier?.version ?? 0) + 1;
  return assemblePublication({
    sessions,
    choices: { ...CHOICES, version, earlier },
    random,
    analyse,
    protections,
  });
}

/** What an attendee has: the seating, two people's photographed trays, an own seat, and all that was published. */
export interface World {
  persons: Person[];
  first: Tasting;
  second: Tasting;
  /** Three versions of the first trial; between the first two, people left, and their names went round. */
  versions: [Publication, Publication, Publication];
  left: number[];
  other: Publication;
  /** Seats of the two people whose trays were photographed. */
  photographed: number[];
  /** For guesses, when nothing was found. */
  guess: (below: number) => number;
}

const SIZES = [12, 13, 14, 15, 16];

// With everything on, the same publications are what most attacks are tried on.
const made = new Map<string, unknown>();
function onceWhenAllOn<T>(key: string, protections: Protections, make: () => T): T {
  if (protections !== PROTECTIONS) return make();
  if (!made.has(key)) made.set(key, make());
  return made.get(key) as T;
}

/** A panel of 12 to 16 in two trials, published under these protections; `number` picks the panel. */
export function world(number: number, protections: Protections): World {
  const guesses = seededRandom(seedOf(9000 + number));
  const published = onceWhenAllOn(`world ${number}`, protections, () => publishedWorld(number, protections));
  return {
    ...published,
    photographed: someSeats(published.persons, 2, guesses),
    guess: (below) => randomInt(guesses, below),
  };
}

function publishedWorld(number: number, protections: Protections): Omit<World, 'photographed' | 'guess'> {
  const size = SIZES[number % SIZES.length] ?? 12;
  const persons = people(size, 5000 + number);
  const [first, second] = [6000, 7000].map((from) =>
    once(`trial ${from + number}`, () => tasting({ persons, parts: PARTS, seed: from + number, knows: 0.4 })),
  ) as [Tasting, Tasting];
  const random = seededRandom(seedOf(8000 + number));
  const one = publish([first.session], protections, random);
  const { two, left, session } = nextVersion(first.session, one, persons, protections, random);
  const three = publish([session], protections, random, two);
  const other = publish([second.session], protections, random);
  return { persons, first, second, versions: [one, two, three], left, other };
}

/** Lets people leave, one after another in a drawn order, until a version may be published again. */
function nextVersion(
  session: PublishableSession,
  one: Publication,
  persons: Person[],
  protections: Protections,
  random: RandomSource,
): { two: Publication; left: number[]; session: PublishableSession } {
  const order = shuffled(random, persons).map(({ seat }) => seat);
  for (let count = 1; count <= 8; count += 1) {
    const left = order.slice(0, count);
    const now = without(session, left);
    try {
      return { two: publish([now], protections, random, one), left, session: now };
    } catch (reason) {
      if (!(reason instanceof PublicationRefused)) throw reason;
    }
  }
  throw new Error('no version may be published after eight people left');
}

/** One choice test alone, for attacks on its tables; the attacker sat on the first seat and knows their own answer. */
export interface TableWorld {
  tasting: Tasting;
  published: Publication | null;
  photographed: number[];
}

/** A duo-trio of 16 to 19 people that nobody could do, so that answers are as hard to guess as can be. */
export function tableWorld(number: number, protections: Protections): TableWorld {
  return choiceWorld(DUO_TRIO, 16 + (number % 4), 20_000 + number, protections);
}

/** A triangle of twelve or thirteen that everybody could do, so that counts by place are lopsided. */
export function placeWorld(number: number, protections: Protections): TableWorld {
  return choiceWorld(TRIANGLE, 12 + (number % 2), 50_000 + number, protections, 0.75);
}

/** A triangle of three people who did not agree to anything. */
export function smallWorld(number: number, protections: Protections): TableWorld {
  return choiceWorld(TRIANGLE, 3, 40_000 + number, protections);
}

function choiceWorld(
  part: Part,
  size: number,
  seed: number,
  protections: Protections,
  knows = 0,
): TableWorld {
  return onceWhenAllOn(`choice ${seed}`, protections, () =>
    publishedChoice({ part, size, seed, knows }, protections),
  );
}

function publishedChoice(
  { part, size, seed, knows }: { part: Part; size: number; seed: number; knows: number },
  protections: Protections,
): TableWorld {
  const persons = people(size, seed);
  const played = once(`choice ${seed}`, () => tasting({ persons, parts: [part], seed, knows }));
  const random = seededRandom(seedOf(seed));
  const photographed = someSeats(persons.slice(1), 2, random);
  try {
    return { tasting: played, published: publish([played.session], protections, random), photographed };
  } catch (reason) {
    if (!(reason instanceof PublicationRefused)) throw reason;
    return { tasting: played, published: null, photographed };
  }
}

/** Two evenings of one month with a dozen people each, in one publication, handed in by date. */
export function twoEvenings(
  number: number,
  protections: Protections,
): { published: Publication; early: string } {
  const [early, late] = ['04', '18'].map((day, at) =>
    tasting({
      persons: people(12, 30_000 + number),
      parts: [TRIANGLE],
      seed: 31_000 + 2 * number + at,
      knows: 0.4,
      revealedAt: `2031-03-${day}T20:00:00.000Z`,
    }),
  ) as [Tasting, Tasting];
  return {
    published: publish([early.session, late.session], protections, seededRandom(seedOf(30_000 + number))),
    early: early.session.input.session.root,
  };
}

/** A panel in which one person said no to rows, and the attacker saw one mark on that person's screen. */
export function refusedWorld(
  number: number,
  protections: Protections,
): { published: Publication; made: Tasting; refused: number } {
  const persons = people(13, 33_000 + number);
  const made = once(`refused ${number}`, () =>
    tasting({ persons, parts: [TRIANGLE, RATING], seed: 34_000 + number, knows: 0.4 }),
  );
  const random = seededRandom(seedOf(35_000 + number));
  const [refused = 1] = someSeats(persons, 1, random);
  const consents = new Map(made.session.consents).set(labelOf(refused), { rows: false, smallGroup: false });
  return { published: publish([{ ...made.session, consents }], protections, random), made, refused };
}

/** A panel of which one person had to leave after the triangle, as everybody saw. */
export function leftWorld(
  number: number,
  protections: Protections,
): { published: Publication; made: Tasting; gone: number } {
  const persons = people(13, 36_000 + number);
  const made = once(`left ${number}`, () =>
    tasting({ persons, parts: [TRIANGLE, RATING], seed: 37_000 + number, knows: 0.4 }),
  );
  const random = seededRandom(seedOf(38_000 + number));
  const [gone = 1] = someSeats(persons, 1, random);
  const { input } = made.session;
  const trays = input.trays.map((tray) =>
    tray.assessor === labelOf(gone)
      ? { ...tray, ballots: tray.ballots.filter(({ part }) => part === 1) }
      : tray,
  );
  // Another panel than the whole one, so that its analysis is kept apart.
  const session = { ...made.session, input: { ...input, trays } };
  return { published: publish([session], protections, random), made, gone };
}
