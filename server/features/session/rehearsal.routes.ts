import { id } from '@oddglass/shared/contracts/common.ts';
import { rehearsalInput, rehearsalView } from '@oddglass/shared/contracts/rehearsal.ts';
import { sessionView } from '@oddglass/shared/contracts/session.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { PanelPlayer } from './rehearsal-player.ts';
import { readRehearsal, rehearse, startPlaying, stopPlaying } from './rehearsal.service.ts';

const config = { access: 'signed-in' } as const;
const params = z.object({ session: id });

/** Rehearsals: a copy of a plan, and simulated people who play it by the same routes as everybody. */
export const rehearsalFeature: Feature = async (app, { deps }) => {
  const player = new PanelPlayer({
    deps,
    log: app.log,
    // What they send goes through the same hooks, routes and schemas as what a tablet sends.
    send: async ({ method, path, token, body }) => {
      const answer = await app.inject({
        method,
        url: path,
        headers: {
          ...(token !== undefined && { authorization: `Bearer ${token}` }),
          ...(body !== undefined && { 'content-type': 'application/json' }),
        },
        ...(body !== undefined && { payload: JSON.stringify(body) }),
      });
      return { status: answer.statusCode, body: answer.json<unknown>() };
    },
  });
  // Before connections are closed, so that nobody is in the middle of a request.
  app.addHook('preClose', () => player.close());

  app.post(
    '/api/sessions/:session/rehearsal',
    { config, schema: { params, body: rehearsalInput, response: { 200: sessionView } } },
    (request) => rehearse(deps, request.actor, request.params.session, request.body),
  );
  const schema = { params, response: { 200: rehearsalView } };
  app.get('/api/sessions/:session/rehearsal', { config, schema }, (request) =>
    readRehearsal(deps, player, request.actor, request.params.session),
  );
  app.post('/api/sessions/:session/rehearsal/play', { config, schema }, (request) =>
    startPlaying(deps, player, request.actor, request.params.session),
  );
  app.post('/api/sessions/:session/rehearsal/stop', { config, schema }, (request) =>
    stopPlaying(deps, player, request.actor, request.params.session),
  );
};
