import type { Story } from '@oddglass/shared/contracts/story.ts';
import type { TimePlotInput, TimeSeries } from '#lib/plot/time-plot.ts';

/** One plot of the story, with its numbers and its words. */
export interface StoryPlot {
  key: string;
  heading: string;
  sentence: string;
  series: TimeSeries[];
  lowest: number | null;
  highest: number | null;
  places: number;
}

type Point = TimeSeries['points'][number];

/** A series for each arm that has points; its place is that of the arm in the trial, so that it looks the same everywhere. */
function byArm(story: Story, points: readonly (Point & { armId: string })[]): TimeSeries[] {
  return story.arms.flatMap(({ id, name }, place) => {
    const own = points.filter(({ armId }) => armId === id);
    return own.length === 0 ? [] : [{ name, place, points: own }];
  });
}

export function readingPlots(story: Story): StoryPlot[] {
  return story.readings.map(({ measure, name, unit, lines, sentence }) => ({
    key: measure,
    heading: unit === '' ? name : `${name}, ${unit}`,
    sentence,
    series: byArm(
      story,
      lines.flatMap(({ armId, points }) =>
        points.map(({ x, value }) => ({ armId, x, value, lower: null, upper: null })),
      ),
    ),
    lowest: null,
    highest: null,
    places: measure === 'gravity' ? 4 : measure === 'ph' ? 2 : 1,
  }));
}

export function differencePlots(story: Story): StoryPlot[] {
  return story.differences.map(({ name, points, sentence }, place) => ({
    key: `difference-${place + 1}`,
    heading: name,
    sentence,
    series: [
      {
        name: 'd-prime',
        place: 5,
        // With all right the estimate has no bound: what is known is the lower limit, drawn with an arrow upwards.
        points: points.flatMap(({ x, dPrime }) => {
          if (!dPrime || dPrime.lower === null) return [];
          const { estimate, lower, upper } = dPrime;
          return [{ x, value: estimate ?? lower, lower, upper, open: upper === null }];
        }),
      },
    ],
    lowest: points.every(({ dPrime }) => (dPrime?.lower ?? 0) >= 0) ? 0 : null,
    highest: null,
    places: 2,
  }));
}

export function attributePlots(story: Story): StoryPlot[] {
  return story.attributes.map(({ name, low, high, lowest, highest, points, sentence }, index) => ({
    key: `attribute-${index + 1}`,
    heading: `${name}, ${lowest} ${low} to ${highest} ${high}`,
    sentence,
    series: byArm(
      story,
      points.map(({ armId, x, mean, lower, upper }) => ({ armId, x, value: mean, lower, upper })),
    ),
    lowest,
    highest,
    places: 1,
  }));
}

export function wordPlots(story: Story): StoryPlot[] {
  return story.words.map(({ word, points }, index) => ({
    key: `word-${index + 1}`,
    heading: `“${word}”, share of those asked`,
    sentence: '',
    series: byArm(
      story,
      points.map(({ armId, x, share, lower, upper }) => ({ armId, x, value: share, lower, upper })),
    ),
    lowest: 0,
    highest: 1,
    places: 2,
  }));
}

/** Every plot of a story that has something to draw, in the order of the page. */
export const storyPlots = (story: Story): StoryPlot[] =>
  [readingPlots, differencePlots, attributePlots, wordPlots]
    .flatMap((plots) => plots(story))
    .filter(({ series }) => series.some(({ points }) => points.length > 0));

/** What the drawing of a plot is made from, but its width. */
export function drawingOf(
  { axis, signs }: Story,
  plot: StoryPlot,
): Omit<TimePlotInput, 'width'> & { axis: string; alternative: string } {
  return {
    series: plot.series,
    first: axis.first,
    last: axis.last,
    lowest: plot.lowest,
    highest: plot.highest,
    signs: signs.filter(({ kind }) => kind === 'deviation').map(({ x }) => x),
    axis: axis.label,
    alternative: plotInWords(plot, axis.label),
  };
}

/** A plot in words: every point with its interval. */
export function plotInWords({ heading, series, places }: StoryPlot, label: string): string {
  const lines = series.map(({ name, points }) => {
    const told = points.map(({ x, value, lower, upper, open }) => {
      if (open) return `from ${(lower ?? value).toFixed(places)} up without a limit at ${x}`;
      const limits =
        lower === null || upper === null ? '' : ` (${lower.toFixed(places)} to ${upper.toFixed(places)})`;
      return `${value.toFixed(places)}${limits} at ${x}`;
    });
    return `${name} ${told.join(', ')}`;
  });
  return `${heading} over ${label}: ${lines.join('; ')}.`;
}
