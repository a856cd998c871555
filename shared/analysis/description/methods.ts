import type { MethodNote } from '../../contracts/result-common.ts';
import type { DescriptionFigures } from './finding.ts';
import { plainLevel } from './gates.ts';
import { percent } from '../../ground/phrases.ts';

const PEOPLE =
  'Assessors are independent of each other, and nothing but taste and smell tells the cups apart.';

/** How every number was made: method, published source, inputs, and what it takes for granted. */
export function descriptionMethods(result: DescriptionFigures): MethodNote[] {
  return [
    ...shareNotes(result),
    ...wordNotes(result),
    ...lateNotes(result),
    ...wholeNotes(result),
    ...besideNotes(result),
  ];
}

function shareNotes({ samples, settings, level }: DescriptionFigures): MethodNote[] {
  const answers = samples.map((sample) => `${sample.name} ${sample.answers}`).join(', ');
  const notes: MethodNote[] = [
    {
      id: 'shares',
      name: `Share checked, Wilson score interval, ${percent(level)}`,
      explains:
        'How many of the people who answered for a sample checked the word, and within which limits that share would lie for people like them. With few answers the interval can cover somewhat less than it says. Two intervals do not compare two samples, for the same people tasted both.',
      source: 'Wilson 1927; Newcombe 1998, Statistics in Medicine 17:857',
      inputs: `answers per sample: ${answers}`,
      assumption: `One answer per person and sample, that for the first cup of it. ${PEOPLE}`,
    },
  ];
  if (settings.intensity) {
    notes.push({
      id: 'intensity',
      name: 'Mean intensity of a checked word',
      explains: 'Mean of 1 faint, 2 clear, 3 strong, over those answers only in which the word was checked.',
      source: 'Arithmetic mean; common practice, no source',
      inputs: 'intensities given with checked words',
      assumption: 'The three steps are even. It says nothing of those who did not check the word.',
    });
  }
  return notes;
}

const sharedAlpha = (late: boolean): string =>
  late
    ? 'Single words, all words together and the words of the late question share the alpha of the part (Holm): the strongest of the three is judged at a third of it, the next at half, the last at the whole, as long as they hold.'
    : 'Single words and all words together share the alpha of the part (Holm): each is judged at half of it, and the other at the whole once one of them holds.';

/** The late question. */
function lateNotes({ late, settings }: DescriptionFigures): MethodNote[] {
  if (!late) return [];
  return [
    {
      id: 'late',
      name: `Late question, after ${late.seconds} s`,
      explains:
        'Some time after the words of a cup were sent, and without tasting it again, it was asked which of a short list of words were there. Words are compared as those said at first, in a family of their own. Beside each stands what the same people had said of that cup at first: said both times it stayed, said only late it came.',
      source:
        'Cochran 1950 and Benjamini & Hochberg 1995, as for the other words; that a word lingers: with the word in the vocabulary',
      inputs: `${late.family.tests} ${late.family.tests === 1 ? 'word' : 'words'}, ${late.family.assessors} people who answered late for all samples tested; alpha ${plainLevel(late.family.level ?? settings.alpha)}`,
      assumption: `The wait was alike for every cup, and nothing else was tasted in it. ${PEOPLE}`,
    },
  ];
}

/** Tests of one word at a time. */
function wordNotes({ words, family, samples, settings, late }: DescriptionFigures): MethodNote[] {
  const notes: MethodNote[] = [];
  const drawn = words.some(({ test }) => test?.route === 'permutation');
  if (words.some(({ test }) => test !== null)) {
    notes.push({
      id: 'cochran',
      name: 'Cochran’s Q test',
      explains: `Whether one word was checked more for some samples than for others by the same people. p by all orders within assessors where they can be gone through${drawn ? ', else by random ones, fewer where these show that p is large' : ''}.`,
      source: 'Cochran 1950, Biometrika 37:256; random orders: Phipson & Smyth 2010',
      inputs: `${family.assessors} people who answered for all ${samples.length - family.leftOutSamples.length} samples tested`,
      assumption: `If samples do not differ, every order within an assessor is equally likely. ${PEOPLE}`,
    });
    notes.push({
      id: 'adjustment',
      name: 'Benjamini-Hochberg adjustment',
      explains:
        'Of the words said to differ, at most the share alpha is said so wrongly, on average. For screening: exploratory, not for a claim that has to stand alone. ' +
        sharedAlpha(late !== null),
      source: 'Benjamini & Hochberg 1995, Journal of the Royal Statistical Society B 57:289',
      inputs: `${family.tests} words offered, checked or not; alpha ${plainLevel(family.level ?? settings.alpha)}`,
      assumption: 'Words are independent or go together positively.',
    });
  }
  if (words.some(({ pairs }) => pairs.length > 0)) {
    notes.push({
      id: 'pairs',
      name: 'Exact McNemar tests of pairs, Holm adjustment',
      explains:
        'Between which two samples a word that differs was checked unequally often; who checked it for both or neither says nothing.',
      source: 'McNemar 1947, Psychometrika 12:153; Holm 1979, Scandinavian Journal of Statistics 6:65',
      inputs:
        'people who checked the word for one of the two samples only; adjusted over the pairs of one word',
      assumption: PEOPLE,
    });
  }
  return notes;
}

/** All words together: the test and the map. */
function wholeNotes({ profile, map, late }: DescriptionFigures): MethodNote[] {
  const notes: MethodNote[] = [];
  if (profile) {
    notes.push({
      id: 'profiles',
      name: 'Permutation test of all words together',
      explains: `Whether the samples were described differently at all. Whole answers are dealt to the samples of one assessor at random, ${profile.permutations} times; the chi-square of the table is only the measure. It shares the alpha of the part with the single words${late ? ' and the late question' : ''}.`,
      source:
        'Good 2005, Permutation, Parametric, and Bootstrap Tests of Hypotheses (from memory); Phipson & Smyth 2010',
      inputs: `${profile.informative} people with answers for two samples or more`,
      assumption: `If samples do not differ, each answer of an assessor could have been for any sample. ${PEOPLE}`,
    });
  }
  if (map) {
    notes.push({
      id: 'map',
      name: 'Correspondence analysis, principal coordinates',
      explains: `Samples with like proportions of words lie close. Words stand in the directions of samples they were checked for more than the rest; a distance between a word and a sample means nothing. Words checked at least ${map.threshold} times are on it.`,
      source: 'Greenacre 1984; Nenadic & Greenacre 2007, Journal of Statistical Software 20(3)',
      inputs: `${map.samples.length} samples by ${map.words.length} words, inertia ${Number(map.totalInertia.toPrecision(3))}`,
      assumption: 'It describes and tests nothing.',
    });
  }
  if (map?.ellipses) {
    notes.push({
      id: 'ellipses',
      name: `Ellipses, ${percent(map.level)}`,
      explains: `How far a sample could move with other people like these: whole assessors are drawn again ${map.resamples} times and put onto the axes of the map. The axes are held fixed, so that ellipses are somewhat too small below some 100 assessors (of 95 %, 85 % to 91 % for 10 to 40).`,
      source:
        'Lebart 2006, in Multiple Correspondence Analysis and Related Methods; Hotelling 1931 (from memory); coverage: own simulation',
      inputs: 'first answers of all people',
      assumption: 'Assessors are a random sample of those meant.',
    });
  }
  return notes;
}

/** What was asked or given beside the words of the ballot. */
function besideNotes({ liking, duplicates, ownWords }: DescriptionFigures): MethodNote[] {
  const notes: MethodNote[] = [];
  if (liking) {
    notes.push({
      id: 'liking',
      name: 'Penalty and lift of liking',
      explains:
        'Mean liking of the cups that were given a word less mean liking of those that were not; within assessors it is freed of how high each one scores. It goes with the word and need not come from it.',
      source:
        'Meyners, Castura & Carr 2013, Food Quality and Preference 30:309 (from memory); limits: jackknife over assessors, Efron & Stein 1981',
      inputs: `${liking.assessors} people, ${liking.tests} words checked often enough; p within assessors adjusted by Benjamini & Hochberg`,
      assumption: 'Liking is given on a scale of even steps; assessors are independent and not few.',
    });
  }
  if (duplicates.length > 0) {
    notes.push({
      id: 'duplicates',
      name: 'Overlap of two cups of one sample',
      explains:
        'Words given to both cups over words given to either, mean over people; 1 is described alike, 0 without a common word.',
      source: 'Jaccard 1912, New Phytologist 11:37',
      inputs: 'the first two cups of a sample one person answered for',
      assumption: 'Nobody knew that the cups held the same.',
    });
  }
  if (ownWords.length > 0) {
    notes.push({
      id: 'own-words',
      name: 'Words of the assessors’ own',
      explains:
        'As typed; spellings that differ in case, blanks or punctuation at the ends stand together. In no test.',
      source: 'Our own rule; no source',
      inputs: `${ownWords.length} different words`,
      assumption: 'The same letters mean the same.',
    });
  }
  return notes;
}
