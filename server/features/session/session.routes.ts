import { findPanelFor } from '@oddglass/db/queries/panel.ts';
import { findSignedIn } from '@oddglass/db/queries/signed-in.ts';
import { done, id } from '@oddglass/shared/contracts/common.ts';
import { board } from '@oddglass/shared/contracts/board.ts';
import { sealAnnouncement, sealView } from '@oddglass/shared/contracts/seal.ts';
import { moveOffer, openInput, sessionInput, sessionView } from '@oddglass/shared/contracts/session.ts';
import { callWaveInput } from '@oddglass/shared/contracts/waves.ts';
import { mayAct } from '@oddglass/shared/rules/session.ts';
import { z } from 'zod';
import type { Actor } from '../../access/actor.ts';
import { networkOf } from '../../guard/attempts.ts';
import { sessionFor } from '../../access/panel-access.ts';
import { signInTime } from '../../guard/sign-in-time.ts';
import type { Deps } from '../../deps.ts';
import type { App, Feature } from '../../feature.ts';
import { problem } from '../../refusal/problem.ts';
import { announceSeal, readSeal, sealSession } from './seal.service.ts';
import { freeSeat, handOver } from './seats.service.ts';
import { feedBoard, readBoard } from './session.live.ts';
import * as service from './session.service.ts';

const params = z.object({ session: id });
const seatParams = z.object({ session: id, seat: z.coerce.number().int().min(1).max(400) });
const config = { access: 'signed-in' } as const;
const sessionAnswer = { params, response: { 200: sessionView } };

export const sessionFeature: Feature = async (app, { deps }) => {
  app.post(
    '/api/trials/:trial/sessions',
    {
      config,
      schema: { params: z.object({ trial: id }), body: sessionInput, response: { 200: sessionView } },
    },
    (request) => service.createSession(deps, request.actor, request.params.trial, request.body),
  );
  app.get('/api/sessions/:session', { config, schema: sessionAnswer }, (request) =>
    service.readSession(deps, request.actor, request.params.session),
  );
  app.put('/api/sessions/:session', { config, schema: { ...sessionAnswer, body: sessionInput } }, (request) =>
    service.changeSession(deps, request.actor, request.params.session, request.body),
  );
  app.delete(
    '/api/sessions/:session',
    { config, schema: { params, response: { 200: done } } },
    async (request) => {
      await service.removeSession(deps, request.actor, request.params.session);
      return { ok: true as const };
    },
  );

  app.post('/api/sessions/:session/seal', { config, schema: sessionAnswer }, async (request) => {
    await sealSession(deps, request.actor, request.params.session);
    return service.readSession(deps, request.actor, request.params.session);
  });
  const moves = {
    close: service.closeSession,
    reveal: service.revealSession,
    'take-key': service.takeKey,
    'join-code': service.rotateJoinCode,
  };
  for (const [path, move] of Object.entries(moves)) {
    app.post(`/api/sessions/:session/${path}`, { config, schema: sessionAnswer }, (request) =>
      move(deps, request.actor, (request.params as z.infer<typeof params>).session),
    );
  }
  app.post(
    '/api/sessions/:session/open',
    { config, schema: { ...sessionAnswer, body: openInput } },
    (request) => service.openSession(deps, request.actor, request.params.session, request.body),
  );
  app.post(
    '/api/sessions/:session/call-wave',
    { config, schema: { ...sessionAnswer, body: callWaveInput } },
    (request) => service.callWave(deps, request.actor, request.params.session, request.body),
  );
  app.post(
    '/api/sessions/:session/seats/:seat/hand-over',
    { config, schema: { params: seatParams, response: { 200: moveOffer } } },
    (request) => handOver(deps, request.actor, request.params.session, request.params.seat),
  );
  app.post(
    '/api/sessions/:session/seats/:seat/free',
    { config, schema: { params: seatParams, response: { 200: done } } },
    async (request) => {
      await freeSeat(deps, request.actor, request.params.session, request.params.seat);
      return { ok: true as const };
    },
  );
  watchRoutes(app, deps);
};

/** Is the sign-in still one, and its owner still of the panel? */
async function mayLook(deps: Deps, actor: Actor, panelId: string): Promise<boolean> {
  const time = signInTime(deps.signInLasts, deps.clock());
  const [signedIn, panel] = await Promise.all([
    findSignedIn(deps.db, actor.tokenHash, time),
    findPanelFor(deps.db, panelId, actor.id),
  ]);
  return signedIn !== undefined && panel !== undefined;
}

/** What one looks at while it goes on: the seal, the board, and the board live. */
function watchRoutes(app: App, deps: Deps): void {
  app.get(
    '/api/sessions/:session/seal',
    { config, schema: { params, response: { 200: sealView } } },
    (request) => readSeal(deps, request.actor, request.params.session),
  );
  app.get(
    '/api/sessions/:session/announcement',
    { config, schema: { params, response: { 200: sealAnnouncement } } },
    async (request, reply) => {
      const announced = await announceSeal(deps, request.actor, request.params.session);
      const name = announced.fingerprint.replaceAll('·', '-');
      reply.header('content-disposition', `attachment; filename="sealed-plan-${name}.json"`);
      return announced;
    },
  );
  app.get(
    '/api/sessions/:session/board',
    { config, schema: { params, response: { 200: board } } },
    async (request) => {
      const { session } = await sessionFor(deps.db, request.actor, request.params.session);
      if (session.state === 'draft') throw problem('wrong-state');
      return readBoard(deps, session);
    },
  );
  app.get(
    '/api/sessions/:session/live',
    {
      config,
      websocket: true,
      schema: { params, querystring: z.object({ after: z.coerce.number().int().min(0).optional() }) },
      // Who may look is settled before the upgrade, so that a refusal is an answer like any other.
      preValidation: async (request) => {
        const address = params.safeParse(request.params);
        if (!address.success) throw problem('not-found');
        await sessionFor(deps.db, request.actor, address.data.session);
      },
    },
    (socket, request) => {
      const { session } = params.parse(request.params);
      const { after } = request.query as { after?: number };
      const { actor } = request;
      socket.on('message', () => undefined);
      deps.sockets.add({ signIn: actor.tokenHash }, networkOf(request.ip), socket);
      sessionFor(deps.db, actor, session)
        .then(({ session: found, panel }) => {
          deps.sockets.ofPanel(socket, panel.id);
          return feedBoard(deps, found, socket, after, {
            pours: mayAct(found, panel.role, 'pour'),
            holds: () => mayLook(deps, actor, panel.id),
          });
        })
        .catch((err: unknown) => {
          request.log.warn({ err }, 'feeding a board failed');
          socket.close(1011);
        });
    },
  );
}
