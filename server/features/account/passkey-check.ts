import {
  generateAuthenticationOptions,
  generateRegistrationOptions,
  verifyAuthenticationResponse,
  verifyRegistrationResponse,
} from '@simplewebauthn/server';
import { decodeClientDataJSON, isoBase64URL } from '@simplewebauthn/server/helpers';
import {
  insertChallenge,
  useChallenge,
  type Passkey,
  type PasskeyChallenge,
} from '@oddglass/db/queries/passkey.ts';
import {
  passkeyCreation,
  passkeyRequest,
  type PasskeyCreation,
  type PasskeyMade,
  type PasskeyRequest,
  type PasskeySigned,
} from '@oddglass/shared/contracts/passkey.ts';
import type { PasskeyPlace } from '../../access/passkey-place.ts';
import { hashToken } from '../../access/tokens.ts';
import type { Deps } from '../../deps.ts';
import { SECOND_FACTOR_MS } from './sign-in.service.ts';

// ES256, Ed25519 and RS256 by their numbers in the COSE registry: what authenticators have.
const ALGORITHMS = [-7, -8, -257];

/** For whom, what for, and in which browser something is signed. */
export type Signing = Pick<PasskeyChallenge, 'accountId' | 'purpose' | 'browserHash'>;

const known = (passkeys: readonly Passkey[], { place }: PasskeyPlace) =>
  passkeys
    .filter((one) => one.place === place)
    .map(({ credentialId, transports }) => ({ id: credentialId, transports }));

async function newChallenge(deps: Deps, signing: Signing): Promise<Uint8Array<ArrayBuffer>> {
  const challenge = new Uint8Array(deps.random.bytes(32));
  const now = deps.clock();
  const challengeHash = hashToken(isoBase64URL.fromBuffer(challenge));
  const expiresAt = new Date(now.getTime() + SECOND_FACTOR_MS);
  await insertChallenge(deps.db, { ...signing, challengeHash, expiresAt }, now);
  return challenge;
}

export async function offerCreation(
  deps: Deps,
  signing: Signing,
  at: PasskeyPlace,
  { name, passkeys }: { name: string; passkeys: readonly Passkey[] },
): Promise<PasskeyCreation> {
  const options = await generateRegistrationOptions({
    rpName: 'Oddglass',
    rpID: at.place,
    userName: name,
    userDisplayName: name,
    userID: new Uint8Array(Buffer.from(signing.accountId.replaceAll('-', ''), 'hex')),
    challenge: await newChallenge(deps, signing),
    timeout: SECOND_FACTOR_MS,
    attestationType: 'none',
    excludeCredentials: known(passkeys, at),
    authenticatorSelection: { residentKey: 'preferred', userVerification: 'preferred' },
    supportedAlgorithmIDs: ALGORITHMS,
  });
  return passkeyCreation.parse(options);
}

export async function offerSigning(
  deps: Deps,
  signing: Signing,
  at: PasskeyPlace,
  passkeys: readonly Passkey[],
): Promise<PasskeyRequest> {
  const options = await generateAuthenticationOptions({
    rpID: at.place,
    challenge: await newChallenge(deps, signing),
    timeout: SECOND_FACTOR_MS,
    allowCredentials: known(passkeys, at),
    userVerification: 'preferred',
  });
  return passkeyRequest.parse(options);
}

/** The challenge that an answer claims to be to, used up; undefined when it is none of this browser's for this purpose. */
async function challengeOf(
  deps: Deps,
  signing: Signing,
  clientDataJSON: string,
): Promise<string | undefined> {
  const challenge = claimed(clientDataJSON);
  if (challenge === undefined) return undefined;
  const used = await useChallenge(deps.db, { ...signing, challengeHash: hashToken(challenge) }, deps.clock());
  return used ? challenge : undefined;
}

function claimed(clientDataJSON: string): string | undefined {
  try {
    const { challenge } = decodeClientDataJSON(clientDataJSON) as { challenge?: unknown };
    return typeof challenge === 'string' ? challenge : undefined;
  } catch {
    return undefined;
  }
}

/** What is to be stored of a passkey that was made as offered; undefined when it was not. */
export async function checkMade(
  deps: Deps,
  signing: Signing,
  at: PasskeyPlace,
  made: PasskeyMade,
): Promise<Pick<Passkey, 'credentialId' | 'publicKey' | 'counter' | 'transports'> | undefined> {
  const expectedChallenge = await challengeOf(deps, signing, made.response.clientDataJSON);
  if (expectedChallenge === undefined) return undefined;
  // The library says no by throwing; nothing in here waits for the database.
  const { registrationInfo } = await verifyRegistrationResponse({
    response: { ...made, clientExtensionResults: {} } as Parameters<
      typeof verifyRegistrationResponse
    >[0]['response'],
    expectedChallenge,
    expectedOrigin: at.origin,
    expectedRPID: at.place,
    requireUserVerification: false,
    supportedAlgorithmIDs: ALGORITHMS,
  }).catch(() => ({ registrationInfo: undefined }));
  if (!registrationInfo) return undefined;
  const { id, publicKey, counter } = registrationInfo.credential;
  return {
    credentialId: id,
    publicKey: isoBase64URL.fromBuffer(publicKey),
    counter,
    transports: made.response.transports ?? [],
  };
}

/** Which of the passkeys signed, and its new counter; undefined when none of them did as it was asked. */
export async function checkSigned(
  deps: Deps,
  signing: Signing,
  at: PasskeyPlace,
  { signed, passkeys }: { signed: PasskeySigned; passkeys: readonly Passkey[] },
): Promise<{ passkey: Passkey; newCounter: number } | undefined> {
  const expectedChallenge = await challengeOf(deps, signing, signed.response.clientDataJSON);
  const passkey = passkeys.find((one) => one.credentialId === signed.id && one.place === at.place);
  if (expectedChallenge === undefined || !passkey) return undefined;
  const found = await verifyAuthenticationResponse({
    response: { ...signed, clientExtensionResults: {} } as Parameters<
      typeof verifyAuthenticationResponse
    >[0]['response'],
    expectedChallenge,
    expectedOrigin: at.origin,
    expectedRPID: at.place,
    credential: {
      id: passkey.credentialId,
      publicKey: isoBase64URL.toBuffer(passkey.publicKey),
      counter: passkey.counter,
    },
    requireUserVerification: false,
  }).catch(() => undefined);
  return found?.verified ? { passkey, newCounter: found.authenticationInfo.newCounter } : undefined;
}
