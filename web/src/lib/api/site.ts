import { siteFileMade, siteTaken } from '@oddglass/shared/contracts/site-file.ts';
import { id } from '@oddglass/shared/contracts/common.ts';
import { z } from 'zod';
import { call, type Fetch } from './client.ts';

/** The file with which another server pours and asks at one place; its code is shown once. */
export const savePlan = (fetch: Fetch, session: string, site: number) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/sessions/${session}/sites/${site}/plan`,
    answer: siteFileMade,
    body: {},
  });
/** Lays a place of a tasting that was sealed elsewhere on this server. */
export const takePlan = (fetch: Fetch, body: { file: string; code: string }) =>
  call({
    fetch,
    method: 'POST',
    path: '/api/site-plans',
    answer: z.object({ session: id, panel: id }),
    body,
  });
/** The evening of a place, for the server that sealed its plan. */
export const saveBallots = (fetch: Fetch, session: string) =>
  call({ fetch, path: `/api/sessions/${session}/site-ballots`, answer: siteFileMade });
export const joinBallots = (fetch: Fetch, session: string, file: string) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/sessions/${session}/site-ballots`,
    answer: siteTaken,
    body: { file },
  });
