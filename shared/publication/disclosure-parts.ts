import type { PartResult } from '../contracts/result.ts';
import { isDifferenceKind } from '../kinds/kinds.ts';
import { tellChoice, tellPreference } from './disclosure-choice.ts';
import { tellDescription, tellRanking } from './disclosure-flights.ts';
import { tellControl, tellLiking, tellRating } from './disclosure-marks.ts';
import { BLUR_BELOW, PublicationRefused } from './disclosure.ts';
import type { Telling, ToldPart } from './disclosure-telling.ts';

/**
 * A part as readers get it: exact where the panel is large enough, otherwise coarse, without comments and rare words; null
 * when so few people had one of its samples that nothing may be told. Sentences and method notes are written anew from
 * the figures told. A kind without a rule: PublicationRefused.
 */
export function tellPart(part: PartResult, telling: Telling): ToldPart | null {
  const told = toldBy(part, telling);
  if (told === null) {
    telling.withheld.parts += 1;
    return null;
  }
  return { ...told, part: withoutHiddenCaveats(told.part, part) };
}

function toldBy(part: PartResult, telling: Telling): ToldPart | null {
  const alone = (one: PartResult | null): ToldPart | null => one && { part: one, orders: [] };
  if (isDifferenceKind(part)) return tellChoice(part, telling);
  switch (part.kind) {
    case 'preference':
      return tellPreference(part, telling);
    case 'description':
      return alone(
        tooFew(
          part.samples.map(({ answers }) => answers),
          telling,
        )
          ? null
          : tellDescription(part, telling),
      );
    case 'ranking':
      return alone(
        tooFew(
          part.samples.map(({ assessors }) => assessors),
          telling,
        )
          ? null
          : tellRanking(part, telling),
      );
    case 'rating':
      return alone(tellRating(part, telling));
    case 'liking':
      return alone(tellLiking(part, telling));
    case 'control':
      return alone(tellControl(part, telling));
    default:
      throw new PublicationRefused(
        'sessions',
        'kind',
        `Nobody has decided yet what may be told of a part of kind ‘${(part satisfies never as PartResult).kind}’.`,
      );
  }
}

/** Did so few people have some sample that what is said of it is said of people known by their trays? */
function tooFew(perSample: readonly number[], { tier, protections }: Telling): boolean {
  return protections.smallGroups && tier !== 'agreed' && perSample.some((people) => people < BLUR_BELOW);
}

/** Caveats repeat the reading of a table word for word; where the table went, so does the caveat. */
function withoutHiddenCaveats(told: PartResult, whole: PartResult): PartResult {
  const gone = new Set(
    readingsOf(whole).filter((reading) => reading !== '' && !readingsOf(told).includes(reading)),
  );
  return { ...told, caveats: told.caveats.filter(({ text }) => !gone.has(text)) };
}

function readingsOf(part: PartResult): string[] {
  return [
    'orders' in part ? part.orders.reading : '',
    'positions' in part ? part.positions.reading : '',
    'confidence' in part ? part.confidence.reading : '',
  ];
}
