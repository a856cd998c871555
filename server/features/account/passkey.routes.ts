import { actorView } from '@oddglass/shared/contracts/account.ts';
import { id } from '@oddglass/shared/contracts/common.ts';
import {
  addPasskeyInput,
  passkeyAdded,
  passkeyCreation,
  passkeyRequest,
  passphraseNowInput,
  recoveryCodeInput,
  recoveryCodes,
  renamePasskeyInput,
  secondFactors,
  signedByPasskeyInput,
} from '@oddglass/shared/contracts/passkey.ts';
import { z } from 'zod';
import { originOf } from '../../access/origin.ts';
import type { App, FeatureOptions } from '../../feature.ts';
import * as passkeys from './passkey.service.ts';
import * as secondFactor from './second-factor.service.ts';
import { pendingTokenOf, remember, visitorOf } from './sign-in-cookie.ts';

/** What is asked for besides the passphrase, as its owner sees and changes it. */
export function passkeyRoutes(app: App, { deps, publicUrl }: FeatureOptions): void {
  const config = { access: 'signed-in' } as const;
  const params = z.object({ passkey: id });
  const response = { 200: secondFactors };
  app.get('/api/me/passkeys', { config, schema: { response } }, (request) =>
    passkeys.readSecondFactors(deps, request.actor, originOf(request, publicUrl)),
  );
  app.post(
    '/api/me/passkeys/offer',
    { config, schema: { body: passphraseNowInput, response: { 200: passkeyCreation } } },
    (request) =>
      passkeys.offerPasskey(deps, request.actor, originOf(request, publicUrl), request.body.passphrase),
  );
  app.post(
    '/api/me/passkeys',
    { config, schema: { body: addPasskeyInput, response: { 200: passkeyAdded } } },
    (request) => passkeys.addPasskey(deps, request.actor, originOf(request, publicUrl), request.body),
  );
  app.put(
    '/api/me/passkeys/:passkey',
    { config, schema: { params, body: renamePasskeyInput, response } },
    (request) =>
      passkeys.nameAnew(deps, request.actor, originOf(request, publicUrl), {
        id: request.params.passkey,
        name: request.body.name,
      }),
  );
  app.post(
    '/api/me/passkeys/:passkey/remove',
    { config, schema: { params, body: passphraseNowInput, response } },
    (request) =>
      passkeys.removePasskey(deps, request.actor, originOf(request, publicUrl), {
        id: request.params.passkey,
        passphrase: request.body.passphrase,
      }),
  );
  app.post(
    '/api/me/recovery-codes',
    { config, schema: { body: passphraseNowInput, response: { 200: recoveryCodes } } },
    async (request) => ({
      codes: await passkeys.drawCodesAnew(deps, request.actor, request.body.passphrase),
    }),
  );
}

/** The second step of a sign-in, for a browser that knew the passphrase. */
export function secondFactorRoutes(app: App, options: FeatureOptions): void {
  const { deps, secure, publicUrl } = options;
  const config = { access: 'public' } as const;
  const response = { 200: actorView };
  app.post(
    '/api/sign-in/passkey/offer',
    { config, schema: { response: { 200: passkeyRequest } } },
    (request) =>
      secondFactor.offerSignIn(deps, pendingTokenOf(secure, request), originOf(request, publicUrl)),
  );
  app.post(
    '/api/sign-in/passkey',
    { config, schema: { body: signedByPasskeyInput, response } },
    async (request, reply) => {
      const signedIn = await secondFactor.signInByPasskey(deps, visitorOf(request), {
        pendingToken: pendingTokenOf(secure, request),
        origin: originOf(request, publicUrl),
        signed: request.body.signed,
      });
      return remember(options, request, reply, signedIn);
    },
  );
  app.post(
    '/api/sign-in/recovery-code',
    { config, schema: { body: recoveryCodeInput, response } },
    async (request, reply) => {
      const signedIn = await secondFactor.signInByRecoveryCode(deps, visitorOf(request), {
        pendingToken: pendingTokenOf(secure, request),
        code: request.body.code,
      });
      return remember(options, request, reply, signedIn);
    },
  );
}
