import type { Answer, ChoiceAnswer, Confidence } from '../contracts/ballot.ts';
import { isChoice } from '../contracts/part-fit.ts';
import type { ChoicePart, FlightPart, Part, RatingPart, SampleRole } from '../contracts/part.ts';
import type { Simulation } from '../contracts/rehearsal.ts';
import { choiceOf } from '../kinds/kinds.ts';
import { lateOf, type Sheet } from '../rules/parts.ts';
import type { Assessor } from './assessor.ts';
import { decide, type Decision } from './decide.ts';
import type { Draws } from './draws.ts';
import { anyMark, degreeOf, MARK_SPREADS, markOf, type MarkSpread } from './marks.ts';
import { armPlaces, placeOf } from './place.ts';
import { describeCup, describeLate, usualWords } from './words.ts';

/** A cup as the simulation knows it: what is in it, and where it stands. */
export interface SimulatedCup {
  code: string;
  /** Left to right, from 1. */
  position: number;
  armId: string;
  role: SampleRole;
  mark: 'reference' | 'control' | null;
}

/** One sheet in front of somebody. */
export interface SheetInHand {
  part: Part;
  /** The part that poured the cups: itself, or the one before it whose cups it borrows. */
  poured: Part;
  sheet: Pick<Sheet, 'codes' | 'attributeIds' | 'late'>;
  /** All cups of the tray, marked ones too. */
  tray: readonly SimulatedCup[];
  /** Ids of words of the vocabulary in use. */
  vocabulary: readonly string[];
}

export type Habits = Pick<Simulation, 'dPrime' | 'attributeSteps' | 'positionBias' | 'careless'>;

/** How far apart two percepts lie before they are called different: right most often for a d-prime of about 1.75. */
export const CRITERION = 1.6;
/** Closer than this somebody has no preference, where that may be said; in units of noise. */
export const INDIFFERENCE = 0.3;

interface Asked extends SheetInHand {
  habits: Habits;
  assessor: Assessor;
  draws: Draws;
  careless: boolean;
  /** What is asked about, left to right. */
  cups: readonly SimulatedCup[];
}

/**
 * What a simulated assessor answers to a sheet. Cups give percepts: the place of their arm in units of perceptual noise, what
 * their position adds, and noise; choices follow the rule of their test, marks and words follow the same place. A careless
 * answer is any of those that could be given, each equally likely, whatever is in the cups.
 *
 * `habits` as a rehearsal sets them; `draws` are used up, so that each sheet should have its own.
 * Errors: RangeError where the sheet asks about a cup that is not on the tray, or a choice has fewer than two cups.
 */
export function answerSheet(inHand: SheetInHand, habits: Habits, assessor: Assessor, draws: Draws): Answer {
  const cups = inHand.sheet.codes.map((code) => {
    const cup = inHand.tray.find((one) => one.code === code);
    if (!cup) throw new RangeError(`there is no cup ${code} on this tray`);
    return cup;
  });
  const careless = draws.chance(habits.careless);
  const asked: Asked = { ...inHand, habits, assessor, draws, careless, cups };
  const { part } = inHand;
  return isChoice(part) ? choose(part, asked) : answerFlight(part, asked);
}

/** What the position of a cup on its tray adds, in units of noise: all of it at one end, nothing elsewhere. */
function shiftOf({ habits: { positionBias }, tray }: Asked, cup: SimulatedCup): number {
  const positions = tray.filter(({ mark }) => mark === null).map(({ position }) => position);
  const end = positionBias > 0 ? Math.min(...positions) : Math.max(...positions);
  return cup.position === end ? Math.abs(positionBias) : 0;
}

/** What a cup seems like, in units of noise. */
function percept(asked: Asked, cup: SimulatedCup): number {
  const place = placeOf(armPlaces(asked.poured, asked.habits.dPrime), cup);
  const shift = cup.mark === null ? shiftOf(asked, cup) : 0;
  return place + shift + asked.draws.normal();
}

/** The place of a cup with the middle of the arms at 0, position included. */
function fromMiddle(asked: Asked, cup: SimulatedCup, step: number, shift: number): number {
  const places = armPlaces(asked.poured, step);
  const ends = [...places.values()];
  const middle = ends.length === 0 ? 0 : (Math.min(...ends) + Math.max(...ends)) / 2;
  return placeOf(places, cup) - middle + shiftOf(asked, cup) * shift;
}

function choose(part: ChoicePart, asked: Asked): ChoiceAnswer {
  const { draws, careless, cups } = asked;
  const { asksWhy } = choiceOf(part);
  const { cups: named, margin } = careless ? anyChoice(part, draws) : decided(part, asked);
  const confidence = careless ? anyOf(CONFIDENCES, draws) : confidenceOf(margin);
  const lexicon = usualWords(asked.vocabulary, 12);
  const wanted = asksWhy && confidence !== 'guess' && lexicon.length > 0 ? draws.whole(0, 2) : 0;
  const words = new Set(Array.from({ length: wanted }, () => anyOf(lexicon, draws)));
  return {
    kind: 'choice',
    chosen: named.flatMap((at) => cups[at]?.code ?? []),
    confidence: asksWhy ? confidence : null,
    descriptors: [...words],
  };
}

function decided(part: ChoicePart, asked: Asked): Decision {
  const reference = asked.tray.find(({ mark }) => mark === 'reference');
  // The reference is tasted first.
  const felt = reference ? percept(asked, reference) : null;
  return decide(part.kind, {
    reference: felt,
    cups: asked.cups.map((cup) => percept(asked, cup)),
    criterion: CRITERION,
    indifference: part.kind === 'preference' && part.noPreference ? INDIFFERENCE : 0,
  });
}

/** Any of the places that can be named; where it may be said that there is no preference, that is one more. */
function anyChoice(part: ChoicePart, draws: Draws): Decision {
  const { places } = choiceOf(part);
  const none = part.kind === 'preference' && part.noPreference ? [{ cups: [] }] : [];
  return { cups: [...anyOf([...places, ...none], draws).cups], margin: 0 };
}

const CONFIDENCES: readonly Confidence[] = ['certain', 'fairly-sure', 'guess'];
const confidenceOf = (margin: number): Confidence =>
  margin > 1.2 ? 'certain' : margin > 0.5 ? 'fairly-sure' : 'guess';

function anyOf<T>(list: readonly T[], draws: Draws): T {
  return list[draws.whole(0, list.length - 1)] as T;
}

function answerFlight(part: FlightPart, asked: Asked): Answer {
  const { cups, draws, careless, habits } = asked;
  const [cup] = cups;
  if (!cup) throw new RangeError('a sheet asks about a cup at least');
  switch (part.kind) {
    case 'rating':
      return rate(part, asked);
    case 'liking':
      return { kind: 'liking', value: marked(MARK_SPREADS.liking, cup, null, asked) };
    case 'control': {
      const steps = part.degrees.length;
      if (careless) return { kind: 'control', degree: draws.whole(0, steps - 1) };
      const control = asked.tray.find(({ mark }) => mark === 'control');
      const felt = control ? percept(asked, control) : 0;
      return { kind: 'control', degree: degreeOf(Math.abs(percept(asked, cup) - felt), steps) };
    }
    case 'ranking': {
      const felt = cups.map((one) => ({
        code: one.code,
        at: careless ? draws.uniform() : percept(asked, one),
      }));
      return { kind: 'ranking', order: felt.sort((a, b) => a.at - b.at).map(({ code }) => code) };
    }
    case 'description': {
      const place = fromMiddle(asked, cup, habits.dPrime, 1);
      const late = asked.sheet.late ? lateOf(part) : null;
      if (late) return describeLate(late.words, { place, careless }, draws);
      const words = part.words ?? usualWords(asked.vocabulary);
      return describeCup(words, { place, careless, intensity: part.intensity }, draws);
    }
  }
}

function rate(part: RatingPart, asked: Asked): Answer {
  const spread = MARK_SPREADS[part.scale];
  return {
    kind: 'rating',
    marks: asked.cups.flatMap((cup) =>
      asked.sheet.attributeIds.map((attributeId) => ({
        code: cup.code,
        attributeId,
        value: marked(spread, cup, asked.habits.attributeSteps[attributeId] ?? null, asked),
      })),
    ),
  };
}

/** A mark on a scale; `step` between arms in its units, null: as d-prime has it. */
function marked(spread: MarkSpread, cup: SimulatedCup, step: number | null, asked: Asked): number {
  const { draws, careless, assessor, habits } = asked;
  if (careless) return anyMark(spread, draws);
  const size = step ?? habits.dPrime * spread.noise;
  return markOf(spread, assessor.level, fromMiddle(asked, cup, size, spread.noise), draws);
}
