import { z } from 'zod';
import { descriptionPart } from './part.ts';
import { count, interval, partFrame, sampleFacts, share } from './result-common.ts';

const route = z.enum(['exact', 'permutation', 'chi-square']);
const key = z.string();

/** A sample as compared: duplicates are folded into the sample they repeat, the warm-up is left out. */
const describedSample = sampleFacts.extend({
  /** People with an answer for it: each counts once, by the first of their cups of it that they answered. */
  answers: count,
  /** Answers that said 'none of these'. */
  none: count,
  /** Words checked over all its answers, words of one's own not among them. */
  checked: count,
});

const wordShare = z.object({
  sample: key,
  /** Checked by x of the n people who answered for the sample. */
  checked: count,
  asked: count,
  share: share.nullable(),
  ...interval.shape,
  /** Mean of how strong it was (1 faint, 2 clear, 3 strong), over the answers that said so; null when none did. */
  intensity: z.object({ mean: z.number().min(1).max(3), of: count }).nullable(),
});

/** Cochran's Q of one word over the people who answered for every sample. */
const wordTest = z.object({
  /** Null when nobody checked it for some samples and not for others. */
  q: z.number().nullable(),
  df: count,
  p: share,
  route,
  /** Random orders drawn; null on the other routes, and where p is told in bands. */
  permutations: count.nullable(),
  informative: count,
  /** Benjamini and Hochberg over all words offered. */
  pAdjusted: share,
  /** Adjusted p at or below the level of words in the family. */
  differs: z.boolean(),
});

const wordPair = z.object({
  first: key,
  second: key,
  onlyFirst: count,
  onlySecond: count,
  p: share,
  /** Holm over the pairs of this word. */
  pAdjusted: share,
});

export const describedWord = z.object({
  id: z.string(),
  word: z.string(),
  family: z.string(),
  /** Times checked over all samples. */
  checked: count,
  /** In the order of `samples`. */
  shares: z.array(wordShare),
  /** Null when fewer than two people, or fewer than two samples, can be compared. */
  test: wordTest.nullable(),
  /** Exact McNemar tests of all pairs of samples; only of a word that differs, of more than two samples. */
  pairs: z.array(wordPair),
});
export type DescribedWord = z.infer<typeof describedWord>;

const mapPoint = z.object({
  /** Key of the sample or id of the word. */
  key,
  name: z.string(),
  /** Principal coordinates on the axes kept, at most three. */
  coordinates: z.array(z.number()),
  mass: share,
  inertia: z.number().min(0),
  /** Share of its own inertia shown by the axes drawn; null for a point at the centre. */
  quality: share.nullable(),
});
export type MapPoint = z.infer<typeof mapPoint>;

const mapEllipse = z.object({
  sample: key,
  centre: z.tuple([z.number(), z.number()]),
  /** Half axes, the longer first, and the direction of the longer one in radians from the first axis. */
  halfAxes: z.tuple([z.number(), z.number()]),
  angle: z.number(),
});

const correspondenceMap = z.object({
  /** plane: two axes. line: one axis, which must not be drawn as a plane. none: nothing to draw. */
  drawn: z.enum(['plane', 'line', 'none']),
  /** Why it is drawn so, in a sentence. */
  reading: z.string(),
  axes: z.array(z.object({ inertia: z.number(), share })),
  totalInertia: z.number(),
  samples: z.array(mapPoint),
  words: z.array(mapPoint),
  /** Null when they cannot be had: fewer than three people or than two axes. */
  ellipses: z.array(mapEllipse).nullable(),
  level: share,
  resamples: count,
  /** Times a word must have been checked to be on the map. */
  threshold: count,
  /** Words checked, but less often. */
  rare: z.array(z.string()),
  /** Samples for which no word of the map was checked. */
  emptySamples: z.array(z.string()),
});

const lift = z.object({
  estimate: z.number().nullable(),
  lower: z.number().nullable(),
  upper: z.number().nullable(),
  p: share.nullable(),
});

/** What was tested of single words. */
const wordFamily = z.object({
  /** Words offered: the number of tests adjusted for. */
  tests: count,
  /** The part of alpha at which single words are judged; null in publications made before it was shared. */
  level: share.nullable().default(null),
  /** People who answered for every sample, on whom the tests stand, and people left out of them. */
  assessors: count,
  leftOut: count,
  /** Names of samples in no test of a word: fewer than half of the people answered for them. */
  leftOutSamples: z.array(z.string()).default([]),
  differ: count,
  /** One sentence on what was tested, by which route, and how many tests were looked at. */
  reading: z.string(),
});

/** A word of the late question, beside what the same people had said of the same cup at first. */
const lateWord = describedWord.extend({
  /** In the order of `samples`; null where so few say it that it is withheld. */
  beside: z.array(
    z
      .object({
        sample: key,
        /** People who answered both times. */
        both: count,
        /** Said both times, only later, only at first. */
        stayed: count,
        came: count,
        gone: count,
      })
      .nullable(),
  ),
});
export type LateWord = z.infer<typeof lateWord>;

const lateResult = z.object({
  seconds: count,
  /** In the order of `samples`: people who answered late, and who said that none of the words was there. */
  answers: z.array(z.object({ sample: key, answers: count, none: count })),
  words: z.array(lateWord),
  /** Words asked for late that nobody checked then. */
  unchecked: z.array(z.string()),
  family: wordFamily,
  /** One sentence on what came of it. */
  reading: z.string(),
});
export type LateResult = z.infer<typeof lateResult>;

export const descriptionResult = partFrame.extend({
  kind: z.literal('description'),
  settings: descriptionPart.pick({
    cups: true,
    replicates: true,
    cupsEach: true,
    alpha: true,
    intensity: true,
  }),
  samples: z.array(describedSample),
  /** Names of warm-ups, tasted first and left out of every figure. */
  warmUps: z.array(z.string()),
  /** Level of the intervals, ellipses and lifts. */
  level: share,
  /** Words that were checked at least once, the strongest evidence of a difference first. */
  words: z.array(describedWord),
  /** Words offered that nobody checked. */
  unchecked: z.array(z.string()),
  family: wordFamily,
  /** The late question, tested as a family of its own; null where it was not asked. */
  late: lateResult.nullable().default(null),
  /** Do the samples differ in their words at all? Null when nothing can be compared. */
  profile: z
    .object({
      p: share,
      chiSquare: z.number().nullable(),
      permutations: count,
      assessors: count,
      informative: count,
      /** At its part of alpha; false in publications made before that was shared, which say it in the reading. */
      shown: z.boolean().default(false),
      reading: z.string(),
    })
    .nullable(),
  map: correspondenceMap.nullable(),
  /** Words of the assessors' own, alike ones together, as typed; for the host to place in the vocabulary. */
  ownWords: z.array(
    z.object({
      /** Spellings as typed, the most frequent first. */
      spellings: z.array(z.string()),
      assessors: count,
      /** Answers per sample, in the order of `samples`. */
      perSample: z.array(count),
    }),
  ),
  /** Two cups of one sample, tasted by one person without knowing. */
  duplicates: z.array(
    z.object({
      sample: key,
      name: z.string(),
      /** People who answered for two cups of it. */
      people: count,
      both: count,
      onlyOne: count,
      /** Mean over people of words checked twice / words checked at least once; null when nobody checked any. */
      overlap: share.nullable(),
    }),
  ),
  /** How liking goes with words; null when liking was not asked on the same cups. */
  liking: z
    .object({
      /** Words looked at, for which p is adjusted (Benjamini and Hochberg). */
      tests: count,
      assessors: count,
      rows: z.array(
        z.object({
          id: z.string(),
          word: z.string(),
          /** Answers with and without the word, and the mean liking of each. */
          chosen: count,
          notChosen: count,
          meanChosen: z.number().nullable(),
          meanNotChosen: z.number().nullable(),
          /** Over all answers, and within assessors. */
          lift,
          within: lift,
          /** Of `within`. */
          pAdjusted: share.nullable(),
        }),
      ),
      reading: z.string(),
    })
    .nullable(),
  comments: z.array(z.object({ sample: key, text: z.string() })),
});
export type DescriptionResult = z.infer<typeof descriptionResult>;
