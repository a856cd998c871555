import { error } from '@sveltejs/kit';
import { render } from 'svelte/server';
import { orElsewhere } from '#lib/api/page-load.ts';
import { getStory } from '#lib/api/story.ts';
import { plotFile } from '#lib/plot/plot-file.ts';
import TimePlot from '#lib/plot/TimePlot.svelte';
import { drawingOf, storyPlots } from '#lib/story/plots.ts';
import type { RequestHandler } from './$types';

/** A plot of the story as a file of its own, for whoever has no scripts. */
export const GET: RequestHandler = async ({ fetch, params, url }) => {
  const story = await orElsewhere(getStory(fetch, params.trial), url);
  const plot = storyPlots(story).find(({ key }) => key === params.plot);
  if (!plot) error(404, 'The story has no such plot.');
  const { body } = render(TimePlot, { props: { ...drawingOf(story, plot), width: 620 } });
  return new Response(plotFile(body, plot.heading), {
    headers: {
      'content-type': 'image/svg+xml; charset=utf-8',
      'content-disposition': `attachment; filename="story-${plot.key}.svg"`,
      'cache-control': 'private, no-store',
    },
  });
};
