import { id } from '@oddglass/shared/contracts/common.ts';
import { story, storyLine } from '@oddglass/shared/contracts/story.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { readStory, readStoryLine, storyDesk } from './story.service.ts';

const config = { access: 'signed-in' } as const;
const params = z.object({ trial: id });

export const storyFeature: Feature = async (app, { deps }) => {
  const desk = storyDesk(deps);
  app.get('/api/trials/:trial/story', { config, schema: { params, response: { 200: story } } }, (request) =>
    readStory(desk, request.actor, request.params.trial),
  );
  app.get(
    '/api/trials/:trial/story-line',
    { config, schema: { params, response: { 200: storyLine } } },
    (request) => readStoryLine(desk, request.actor, request.params.trial),
  );
};
