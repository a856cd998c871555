import { done, id } from '@oddglass/shared/contracts/common.ts';
import {
  deskBallot,
  deskOffer,
  deskOpened,
  deskView,
  entryInput,
  openDeskInput,
  paperPrint,
  paperQuery,
  paperReceipt,
  paperReceiptInput,
  setAsideInput,
} from '@oddglass/shared/contracts/paper.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import * as desk from './desk.service.ts';
import * as entry from './entry.service.ts';
import * as print from './print.service.ts';
import { receiptBySlip } from './slip.service.ts';

const params = z.object({ session: id });
const config = { access: 'signed-in' } as const;
const atDesk = { access: 'desk' } as const;
const atBallot = {
  params: z.object({ seat: z.coerce.number().int().min(1).max(400) }),
  response: { 200: deskBallot },
};

export const paperFeature: Feature = async (app, { deps }) => {
  app.get(
    '/api/sessions/:session/paper',
    { config, schema: { params, querystring: paperQuery, response: { 200: paperPrint } } },
    (request) => print.readPrint(deps, request.actor, request.params.session, request.query),
  );
  app.post(
    '/api/sessions/:session/paper/seats',
    { config, schema: { params, body: setAsideInput, response: { 200: done } } },
    async (request) => {
      await print.setAside(deps, request.actor, request.params.session, request.body);
      return { ok: true as const };
    },
  );
  app.post(
    '/api/sessions/:session/paper/desk',
    { config, schema: { params, response: { 200: deskOffer } } },
    (request) => desk.offerDesk(deps, request.actor, request.params.session),
  );
  app.post(
    '/api/desk/open',
    { config: { access: 'public' }, schema: { body: openDeskInput, response: { 200: deskOpened } } },
    (request) => desk.openDesk(deps, request.actorOrNull, request.body),
  );
  app.get('/api/desk', { config: atDesk, schema: { response: { 200: deskView } } }, (request) =>
    desk.readDesk(deps, request.desk),
  );
  app.get('/api/desk/ballots/:seat', { config: atDesk, schema: atBallot }, (request) =>
    entry.readBallot(deps, request.desk, request.params.seat),
  );
  app.post(
    '/api/desk/ballots/:seat/entries',
    { config: atDesk, schema: { ...atBallot, body: entryInput } },
    (request) => entry.enterBallot(deps, request.desk, request.params.seat, request.body),
  );
  app.post(
    '/api/receipt/slip',
    { config: { access: 'public' }, schema: { body: paperReceiptInput, response: { 200: paperReceipt } } },
    (request) => receiptBySlip(deps, request.ip, request.body),
  );
};
