import {
  acceptInvitationInput,
  actorView,
  changePassphraseInput,
  firstHostInput,
  forgottenPassphraseInput,
  invitationInput,
  invitationView,
  joinPanelInput,
  openInvitations,
  signInInput,
  signInViews,
} from '@oddglass/shared/contracts/account.ts';
import { done, id } from '@oddglass/shared/contracts/common.ts';
import { secondFactorAsked } from '@oddglass/shared/contracts/passkey.ts';
import { z } from 'zod';
import { actorCookie } from '../../access/actor.ts';
import { originOf } from '../../access/origin.ts';
import { passkeyPlaceOf } from '../../access/passkey-place.ts';
import type { App, Feature, FeatureOptions } from '../../feature.ts';
import * as service from './account.service.ts';
import * as invitations from './invitation.service.ts';
import { passkeyRoutes, secondFactorRoutes } from './passkey.routes.ts';
import { cookieOf, remember, rememberPending, visitorOf } from './sign-in-cookie.ts';
import * as signIns from './sign-in.service.ts';

export const accountFeature: Feature = async (app, options) => {
  newSignInRoutes(app, options);
  secondFactorRoutes(app, options);
  ownRoutes(app, options);
  passkeyRoutes(app, options);
  invitationRoutes(app, options);
};

/** Who may come into a panel. */
function invitationRoutes(app: App, { deps }: FeatureOptions): void {
  const config = { access: 'signed-in' } as const;
  const params = z.object({ panel: id });
  app.post(
    '/api/panels/:panel/invitations',
    { config, schema: { params, body: invitationInput, response: { 200: invitationView } } },
    (request) => invitations.invite(deps, request.actor, request.params.panel, request.body.role),
  );
  app.get(
    '/api/panels/:panel/invitations',
    { config, schema: { params, response: { 200: openInvitations } } },
    (request) => invitations.readInvitations(deps, request.actor, request.params.panel),
  );
  app.delete(
    '/api/panels/:panel/invitations/:invitation',
    { config, schema: { params: params.extend({ invitation: id }), response: { 200: openInvitations } } },
    ({ actor, params: { panel, invitation } }) =>
      invitations.revokeInvitation(deps, actor, panel, invitation),
  );
  app.post(
    '/api/invitations/join',
    { config, schema: { body: joinPanelInput, response: { 200: actorView } } },
    (request) => invitations.joinPanel(deps, request.actor, request.ip, request.body.token),
  );
}

/** Ways to be signed in. */
function newSignInRoutes(app: App, options: FeatureOptions): void {
  const { deps, secure, publicUrl } = options;
  const config = { access: 'public' } as const;
  const response = { 200: actorView };

  app.post(
    '/api/sign-in',
    { config, schema: { body: signInInput, response: { ...response, 202: secondFactorAsked } } },
    async (request, reply) => {
      const entered = await signIns.signIn(deps, visitorOf(request), request.body);
      if ('token' in entered) return remember(options, request, reply, entered);
      rememberPending(secure, reply, entered);
      const at = passkeyPlaceOf(originOf(request, publicUrl));
      const passkey = 'place' in at && entered.places.includes(at.place);
      return reply.code(202).send({ secondFactor: { passkey, endsAt: entered.endsAt.toISOString() } });
    },
  );
  app.post(
    '/api/passphrase',
    { config, schema: { body: forgottenPassphraseInput, response } },
    async (request, reply) =>
      remember(
        options,
        request,
        reply,
        await signIns.replacePassphrase(deps, visitorOf(request), request.body),
      ),
  );
  app.post(
    '/api/first-host',
    { config, schema: { body: firstHostInput, response } },
    async (request, reply) =>
      remember(
        options,
        request,
        reply,
        await service.createFirstHost(deps, visitorOf(request), request.body),
      ),
  );
  app.post(
    '/api/invitations/accept',
    { config, schema: { body: acceptInvitationInput, response } },
    async (request, reply) =>
      remember(
        options,
        request,
        reply,
        await service.acceptInvitation(deps, visitorOf(request), request.body),
      ),
  );
}

/** What somebody signed in does with their own account. */
function ownRoutes(app: App, { deps, secure }: FeatureOptions): void {
  const config = { access: 'signed-in' } as const;
  app.post('/api/sign-out', { config, schema: { response: { 200: done } } }, async (request, reply) => {
    await signIns.signOut(deps, request.actor);
    reply.clearCookie(actorCookie(secure), cookieOf(secure));
    // Pages and answers that lie in the browser; not its storage, where a tablet may keep ballots of its seat.
    reply.header('clear-site-data', '"cache"');
    return { ok: true as const };
  });
  app.get('/api/me', { config, schema: { response: { 200: actorView } } }, (request) =>
    signIns.readActor(deps, request.actor),
  );
  app.post(
    '/api/me/passphrase',
    { config, schema: { body: changePassphraseInput, response: { 200: done } } },
    async (request) => {
      await signIns.changePassphrase(deps, request.actor, request.body);
      return { ok: true as const };
    },
  );
  app.get('/api/me/sign-ins', { config, schema: { response: { 200: signInViews } } }, (request) =>
    signIns.readSignIns(deps, request.actor),
  );
  app.delete(
    '/api/me/sign-ins/:signIn',
    { config, schema: { params: z.object({ signIn: id }), response: { 200: signInViews } } },
    (request) => signIns.endSignIn(deps, request.actor, request.params.signIn),
  );
}
