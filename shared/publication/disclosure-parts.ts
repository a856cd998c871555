import type { PartResult } from '../contracts/result.ts';
import { isDifferenceKind } from '../kinds/kinds.ts';
import { discloseChoice, disclosePreference } from './disclosure-choice.ts';
import { discloseDescription, discloseRanking } from './disclosure-flights.ts';
import { discloseSameDifferent } from './disclosure-same-different.ts';
import { discloseControl, discloseLiking, discloseRating } from './disclosure-marks.ts';
import { BLUR_BELOW, PublicationRefused } from './disclosure.ts';
import type { DisclosureContext, DisclosedPart } from './disclosure-context.ts';

/**
 * A part as readers get it: exact where the panel is large enough, otherwise coarse, without comments and rare words; null
 * when so few people had one of its samples that nothing may be told. Sentences and method notes are written anew from
 * the figures told. A kind without a rule: PublicationRefused.
 */
export function disclosePart(part: PartResult, context: DisclosureContext): DisclosedPart | null {
  const told = toldBy(part, context);
  if (told === null) {
    context.withheld.parts += 1;
    return null;
  }
  return { ...told, part: withoutHiddenCaveats(told.part, part) };
}

function toldBy(part: PartResult, context: DisclosureContext): DisclosedPart | null {
  const alone = (one: PartResult | null): DisclosedPart | null => one && { part: one, orders: [] };
  if (isDifferenceKind(part)) return discloseChoice(part, context);
  switch (part.kind) {
    case 'preference':
      return disclosePreference(part, context);
    case 'same-different':
      return discloseSameDifferent(part, context);
    case 'description':
      return alone(
        tooFew(
          part.samples.map(({ answers }) => answers),
          context,
        )
          ? null
          : discloseDescription(part, context),
      );
    case 'ranking':
      return alone(
        tooFew(
          part.samples.map(({ assessors }) => assessors),
          context,
        )
          ? null
          : discloseRanking(part, context),
      );
    case 'rating':
      return alone(discloseRating(part, context));
    case 'liking':
      return alone(discloseLiking(part, context));
    case 'control':
      return alone(discloseControl(part, context));
    default:
      throw new PublicationRefused(
        'sessions',
        'kind',
        `Nobody has decided yet what may be told of a part of kind ‘${(part satisfies never as PartResult).kind}’.`,
      );
  }
}

/** Did so few people have some sample that what is said of it is said of people known by their trays? */
function tooFew(perSample: readonly number[], { tier, protections }: DisclosureContext): boolean {
  return protections.smallGroups && tier !== 'agreed' && perSample.some((people) => people < BLUR_BELOW);
}

/** Caveats repeat the reading of a table word for word; where the table went, so does the caveat. */
function withoutHiddenCaveats(told: PartResult, whole: PartResult): PartResult {
  const gone = new Set(readingsOf(whole).filter((reading) => !readingsOf(told).includes(reading)));
  return { ...told, caveats: told.caveats.filter(({ text }) => !gone.has(text)) };
}

function readingsOf(part: PartResult): string[] {
  return [
    'orders' in part ? part.orders.reading : '',
    'positions' in part ? part.positions.reading : '',
    'confidence' in part ? part.confidence.reading : '',
  ];
}
