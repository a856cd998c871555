import type { PartKind } from '@oddglass/shared/contracts/part.ts';

/** How each kind of part is named within a sentence. */
export const KIND_WORDS: Readonly<Record<PartKind, string>> = {
  triangle: 'triangle',
  'duo-trio': 'duo-trio',
  tetrad: 'tetrad',
  'three-afc': '3-AFC',
  'directional-pair': 'directional pair',
  preference: 'paired preference',
  rating: 'rating',
  control: 'difference from control',
  ranking: 'ranking',
  description: 'description',
  liking: 'liking',
};

export interface KindOffer {
  kind: PartKind;
  name: string;
  /** What it answers, and what it needs. */
  note: string;
}

/** What a host can ask, by the question it answers. */
export const OFFERS: readonly { question: string; kinds: readonly KindOffer[] }[] = [
  {
    question: 'Do they differ?',
    kinds: [
      {
        kind: 'triangle',
        name: 'Triangle',
        note: 'Name the odd cup of three. Needs no idea of how they differ; three cups a tray.',
      },
      {
        kind: 'duo-trio',
        name: 'Duo-trio',
        note: 'Which of two cups is like the reference? Simple to explain; needs more people than a triangle.',
      },
      {
        kind: 'tetrad',
        name: 'Tetrad',
        note: 'Sort four cups into two pairs. Often needs fewer people than a triangle, but four cups a tray.',
      },
      {
        kind: 'three-afc',
        name: '3-AFC',
        note: 'Which cup of three has the most of one attribute? Strong, when you know which arm should have more.',
      },
      {
        kind: 'directional-pair',
        name: 'Directional pair',
        note: 'Which of two cups has more of one attribute? Only two cups a tray; you name the attribute.',
      },
    ],
  },
  {
    question: 'Which is preferred?',
    kinds: [
      {
        kind: 'preference',
        name: 'Paired preference',
        note: 'Which of two cups do you prefer? Needs people who drink it anyway, not trained ones.',
      },
    ],
  },
  {
    question: 'How much of what?',
    kinds: [
      {
        kind: 'rating',
        name: 'Rating',
        note: 'How strong is each attribute in each cup? Needs people who agree on what the words mean.',
      },
      {
        kind: 'control',
        name: 'Difference from control',
        note: 'How far is each cup from a marked control? Needs a control arm; tells size, not direction.',
      },
      {
        kind: 'ranking',
        name: 'Ranking',
        note: 'Put the cups in order of one attribute. Quick, without a scale; tells order, not distance.',
      },
    ],
  },
  {
    question: 'In which words?',
    kinds: [
      {
        kind: 'description',
        name: 'Description',
        note: 'Check the words that fit each cup. Needs no training; also works on the cups of a test before it.',
      },
    ],
  },
  {
    question: 'How well liked?',
    kinds: [
      {
        kind: 'liking',
        name: 'Liking',
        note: 'How much do you like each cup, on nine points? Needs many people, and is best asked alone.',
      },
    ],
  },
];

/** The name on the button that adds this kind. */
export const kindName = (kind: PartKind): string =>
  OFFERS.flatMap(({ kinds }) => kinds).find((offer) => offer.kind === kind)?.name ?? kind;

const isKind = (kind: string): kind is PartKind => Object.hasOwn(KIND_WORDS, kind);

/** A kind in words, also as the server lists it. */
export const kindInWords = (kind: string): string => (isKind(kind) ? KIND_WORDS[kind] : kind);

/** The parts of a session in one line: 'triangle, then description'. */
export const kindsInWords = (kinds: readonly string[]): string => kinds.map(kindInWords).join(', then ');
