import { story } from '@oddglass/shared/contracts/story.ts';
import { call, type Fetch } from './client.ts';

export const getStory = (fetch: Fetch, trial: string) =>
  call({ fetch, path: `/api/trials/${trial}/story`, answer: story });
