import { actorView } from '@oddglass/shared/contracts/account.ts';
import {
  passkeyAdded,
  passkeyCreation,
  passkeyRequest,
  recoveryCodes,
  secondFactors,
  type AddPasskeyInput,
  type PasskeySigned,
} from '@oddglass/shared/contracts/passkey.ts';
import { call, type Fetch } from './client.ts';

const own = '/api/me/passkeys';

export const getSecondFactors = (fetch: Fetch) => call({ fetch, path: own, answer: secondFactors });
/** What the browser makes a passkey by. */
export const offerPasskey = (fetch: Fetch, passphrase: string) =>
  call({ fetch, method: 'POST', path: `${own}/offer`, answer: passkeyCreation, body: { passphrase } });
export const addPasskey = (fetch: Fetch, body: AddPasskeyInput) =>
  call({ fetch, method: 'POST', path: own, answer: passkeyAdded, body });
export const renamePasskey = (fetch: Fetch, id: string, name: string) =>
  call({ fetch, method: 'PUT', path: `${own}/${id}`, answer: secondFactors, body: { name } });
export const removePasskey = (fetch: Fetch, id: string, passphrase: string) =>
  call({ fetch, method: 'POST', path: `${own}/${id}/remove`, answer: secondFactors, body: { passphrase } });
/** Ten new codes; those before stop working. */
export const drawRecoveryCodes = (fetch: Fetch, passphrase: string) =>
  call({
    fetch,
    method: 'POST',
    path: '/api/me/recovery-codes',
    answer: recoveryCodes,
    body: { passphrase },
  });

/** What a passkey is to sign, in a browser that knew the passphrase. */
export const offerSignIn = (fetch: Fetch) =>
  call({ fetch, method: 'POST', path: '/api/sign-in/passkey/offer', answer: passkeyRequest, body: {} });
export const signInByPasskey = (fetch: Fetch, signed: PasskeySigned) =>
  call({ fetch, method: 'POST', path: '/api/sign-in/passkey', answer: actorView, body: { signed } });
export const signInByRecoveryCode = (fetch: Fetch, code: string) =>
  call({ fetch, method: 'POST', path: '/api/sign-in/recovery-code', answer: actorView, body: { code } });
