import { ballotInput, ballotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import { done } from '@oddglass/shared/contracts/common.ts';
import { receiptMade } from '@oddglass/shared/contracts/receipt.ts';
import {
  consent,
  joinInput,
  joinOffer,
  moveInput,
  passedOn,
  progress,
  seatTaken,
  seatView,
  takeSeatInput,
} from '@oddglass/shared/contracts/seat.ts';
import { moveOffer } from '@oddglass/shared/contracts/session.ts';
import type { Feature } from '../../feature.ts';
import { browserHash } from '../../access/browser-id.ts';
import { networkOf } from '../../guard/attempts.ts';
import { offerSeats, takeSeat } from './join.service.ts';
import { feedSeat, Presence } from './seat.live.ts';
import { moveHere, offerOwnMove } from './move.service.ts';
import { passOn } from './pass-on.service.ts';
import { submitBallot } from './ballot.service.ts';
import * as service from './seat.service.ts';

const config = { access: 'seat' } as const;

export const seatFeature: Feature = async (app, { deps, secure }) => {
  const presence = new Presence();
  app.addHook('onClose', async () => presence.close());

  app.post(
    '/api/join',
    { config: { access: 'public' }, schema: { body: joinInput, response: { 200: joinOffer } } },
    (request) => offerSeats(deps, request.ip, request.body),
  );
  app.post(
    '/api/join/seat',
    { config: { access: 'public' }, schema: { body: takeSeatInput, response: { 200: seatTaken } } },
    (request, reply) => {
      const deviceHash = browserHash(request, reply, { random: deps.random, secure });
      return takeSeat(deps, { from: request.ip, actor: request.actorOrNull, deviceHash }, request.body);
    },
  );
  app.post(
    '/api/join/move',
    { config: { access: 'public' }, schema: { body: moveInput, response: { 200: seatTaken } } },
    (request, reply) => {
      const deviceHash = browserHash(request, reply, { random: deps.random, secure });
      return moveHere(deps, { from: request.ip, actor: request.actorOrNull, deviceHash }, request.body);
    },
  );
  app.post('/api/seat/move', { config, schema: { response: { 200: moveOffer } } }, (request) =>
    offerOwnMove(deps, request.seat),
  );
  app.post('/api/seat/pass-on', { config, schema: { response: { 200: passedOn } } }, (request) =>
    passOn(deps, request.seat),
  );
  app.get('/api/seat', { config, schema: { response: { 200: seatView } } }, (request) =>
    service.readSeat(deps, request.seat),
  );
  app.post('/api/seat/cautions', { config, schema: { response: { 200: seatView } } }, (request) =>
    service.confirmCautions(deps, request.seat),
  );
  app.post(
    '/api/seat/progress',
    { config, schema: { body: progress, response: { 200: done } } },
    async (request) => {
      await service.tellProgress(deps, request.seat, request.body);
      return { ok: true as const };
    },
  );
  app.post(
    '/api/seat/ballots',
    { config, schema: { body: ballotInput, response: { 200: ballotReceipt } } },
    (request) => submitBallot(deps, request.seat, request.body),
  );
  app.post(
    '/api/seat/consent',
    { config, schema: { body: consent, response: { 200: seatView } } },
    (request) => service.giveConsent(deps, request.seat, request.body),
  );
  app.post(
    '/api/seat/receipt',
    { config, schema: { body: receiptMade, response: { 200: done } } },
    async (request) => {
      await service.keepReceipt(deps, request.seat, request.body);
      return { ok: true as const };
    },
  );
  app.get('/api/seat/live', { config, websocket: true, schema: { hide: true } }, (socket, request) => {
    const { seat } = request;
    socket.on('message', () => undefined);
    deps.sockets.add({ seat: seat.id }, networkOf(request.ip), socket);
    feedSeat(deps, presence, seat, socket).catch((err: unknown) => {
      request.log.warn({ err }, 'feeding a seat failed');
      socket.close(1011);
    });
  });
};
