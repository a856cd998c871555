import {
  acceptInvitationInput,
  actorView,
  changePassphraseInput,
  firstHostInput,
  invitationInput,
  invitationView,
  signInInput,
} from '@oddglass/shared/contracts/account.ts';
import { done, id } from '@oddglass/shared/contracts/common.ts';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { ACTOR_COOKIE } from '../../access/actor.ts';
import { FailureLimit } from '../../access/rate-limit.ts';
import * as service from './account.service.ts';

export const accountFeature: Feature = async (app, { deps, secure }) => {
  const signInLimit = new FailureLimit(10, 600);
  const linkLimit = new FailureLimit(20, 600);

  const cookie = { path: '/', httpOnly: true, sameSite: 'lax', secure } as const;
  const remember = (reply: FastifyReply, signedIn: service.SignedIn) => {
    reply.setCookie(ACTOR_COOKIE, signedIn.token, { ...cookie, maxAge: service.SIGNED_IN_DAYS * 86_400 });
    return signedIn.view;
  };

  app.post(
    '/api/sign-in',
    { config: { access: 'public' }, schema: { body: signInInput, response: { 200: actorView } } },
    async (request, reply) =>
      remember(reply, await service.signIn(deps, signInLimit, request.ip, request.body)),
  );
  app.post(
    '/api/sign-out',
    { config: { access: 'signed-in' }, schema: { response: { 200: done } } },
    async (request, reply) => {
      await service.signOut(deps, request.actor);
      reply.clearCookie(ACTOR_COOKIE, cookie);
      return { ok: true as const };
    },
  );
  app.get(
    '/api/me',
    { config: { access: 'signed-in' }, schema: { response: { 200: actorView } } },
    (request) => service.readActor(deps, request.actor),
  );
  app.post(
    '/api/me/passphrase',
    { config: { access: 'signed-in' }, schema: { body: changePassphraseInput, response: { 200: done } } },
    async (request) => {
      await service.changePassphrase(deps, request.actor, request.body);
      return { ok: true as const };
    },
  );
  app.post(
    '/api/first-host',
    { config: { access: 'public' }, schema: { body: firstHostInput, response: { 200: actorView } } },
    async (request, reply) =>
      remember(reply, await service.createFirstHost(deps, linkLimit, request.ip, request.body)),
  );
  app.post(
    '/api/invitations/accept',
    { config: { access: 'public' }, schema: { body: acceptInvitationInput, response: { 200: actorView } } },
    async (request, reply) =>
      remember(reply, await service.acceptInvitation(deps, linkLimit, request.ip, request.body)),
  );
  app.post(
    '/api/panels/:panel/invitations',
    {
      config: { access: 'signed-in' },
      schema: { params: z.object({ panel: id }), body: invitationInput, response: { 200: invitationView } },
    },
    (request) => service.invite(deps, request.actor, request.params.panel, request.body.role),
  );
};
