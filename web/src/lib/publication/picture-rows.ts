import type { Publication, PublishedSession } from '@oddglass/shared/contracts/publication.ts';
import type { MarkFigures } from '@oddglass/shared/contracts/result-rating.ts';
import type { PartResult } from '@oddglass/shared/contracts/result.ts';
import { isDifferenceKind, kindOf } from '@oddglass/shared/kinds/kinds.ts';
import { preferenceStrip } from '#lib/result/choice/preference-strip.ts';
import { stripOf, type Strip } from '#lib/result/choice/strip-of.ts';
import { countOf } from '#lib/text/numbers.ts';

/** One finding of the picture: answers as dots, samples on lines, or words alone. */
export interface PictureRow {
  /** Answers, filled where they count, with the lines of guessing and of what is needed. */
  dots: { answers: number; counted: number; expected: number; critical: number | null } | null;
  /** Samples on lines from the lowest to the highest value, each a share of the way. */
  lines: { name: string; points: { place: number; at: number }[] }[];
  /** What stands below it. */
  words: string;
  /** Names of the samples on the lines, in order; each stands beside its mark. */
  samples: string[];
  /** The same for those who do not see it. */
  alternative: string;
}

const MAX_LINES = 4;

/** Every finding of every session, in the order of the page: none is left out because another says more. */
export function pictureRows(publication: Publication): PictureRow[] {
  const several = publication.sessions.length > 1;
  return publication.sessions.flatMap((session) => {
    const before = several ? `Session ${session.number}: ` : '';
    const told = session.parts.map((part) => rowOf(part, session, publication));
    const alone = (session.withheld ?? []).map(({ headline }): PictureRow => ({
      dots: null,
      lines: [],
      samples: [],
      words: headline,
      alternative: headline,
    }));
    return [...told, ...alone].map((row) => ({
      ...row,
      words: before + row.words,
      alternative: before + row.alternative,
    }));
  });
}

function rowOf(part: PartResult, { tier }: PublishedSession, { arms }: Publication): PictureRow {
  const nameOf = (armId: string): string => arms.find(({ id }) => id === armId)?.name ?? 'an arm';
  if (isDifferenceKind(part)) return part.test.answers > 0 ? dotted(stripOf(part)) : spoken(part);
  if (part.kind === 'preference') {
    return part.test.answers > 0 ? dotted(preferenceStrip(part, nameOf)) : spoken(part);
  }
  // Two rates with a criterion between them are no strip of right answers.
  if (part.kind === 'same-different') return spoken(part);
  const lines = linesOf(part).filter(({ points }) => points.length > 0);
  if (lines.length === 0) return spoken(part);
  const names = 'samples' in part ? part.samples.map(({ name }) => name) : [];
  const more = lines.length > MAX_LINES ? `, ${MAX_LINES} of ${lines.length} shown` : '';
  const roughly = tier === 'full' ? '' : ', roughly';
  const kind = kindOf(part).names.heading;
  return {
    dots: null,
    lines: lines.slice(0, MAX_LINES),
    samples: names,
    words: `${kind}${more}, from least to most`,
    alternative: `${kind}${roughly}: ${part.finding.headline} Samples from left to right: ${lines
      .slice(0, MAX_LINES)
      .map(({ name, points }) => `${name}: ${order(points, names)}`)
      .join('; ')}.`,
  };
}

const order = (points: PictureRow['lines'][number]['points'], names: readonly string[]): string =>
  points
    .toSorted((a, b) => a.at - b.at)
    .map(({ place }) => names[place] ?? '')
    .join(', ');

function dotted({
  answers,
  counted,
  expected,
  critical,
  names,
  expectedLabel,
  criticalLabel,
  alternative,
}: Strip): PictureRow {
  const needed = critical === null ? 'no count is enough' : criticalLabel;
  return {
    dots: { answers, counted, expected, critical },
    lines: [],
    samples: [],
    words: `${countOf(counted)} of ${countOf(answers)} ${names.counted}, ${expectedLabel}, ${needed}`,
    alternative,
  };
}

const spoken = ({ finding: { headline } }: PartResult): PictureRow => ({
  dots: null,
  lines: [],
  samples: [],
  words: headline,
  alternative: headline,
});

/** Where each sample stands on each line: marks on their scale, ranks from least to most, words by how many checked them. */
function linesOf(part: Exclude<PartResult, { settings: { armIds: string[] } }>): PictureRow['lines'] {
  switch (part.kind) {
    case 'rating': {
      const [low, high] = part.settings.scale === 'line' ? [0, 100] : [1, 9];
      return part.attributes.map((one) => markLine(one.name, one, part.samples, low, high));
    }
    case 'liking':
      return [markLine('liking', part.figures, part.samples, 1, 9)];
    case 'control':
      return [markLine('difference', part.figures, part.samples, 0, part.settings.degrees.length - 1)];
    case 'ranking': {
      const highest = Math.max(2, part.samples.length);
      const points = part.samples.flatMap(({ meanRank }, place) =>
        meanRank === null ? [] : [{ place, at: (meanRank - 1) / (highest - 1) }],
      );
      return [{ name: part.settings.attribute, points }];
    }
    case 'description':
      return part.words
        .toSorted((a, b) => (a.test?.p ?? 1) - (b.test?.p ?? 1) || b.checked - a.checked)
        .map(({ word, shares }) => ({
          name: word,
          points: shares.flatMap(({ share }, place) => (share === null ? [] : [{ place, at: share }])),
        }));
  }
}

function markLine(
  name: string,
  figures: MarkFigures,
  samples: readonly { key: string }[],
  lowest: number,
  highest: number,
): PictureRow['lines'][number] {
  const points = samples.flatMap(({ key }, place) => {
    const own = figures.samples.find(({ sample }) => sample === key);
    const mean = own?.estimated?.mean ?? own?.mean ?? null;
    return mean === null
      ? []
      : [{ place, at: Math.min(1, Math.max(0, (mean - lowest) / (highest - lowest))) }];
  });
  return { name, points };
}
