import { ForPeople } from '#lib/ui/for-people.ts';
import {
  passkeyMade,
  passkeySigned,
  type PasskeyCreation,
  type PasskeyMade,
  type PasskeyRequest,
  type PasskeySigned,
} from '@oddglass/shared/contracts/passkey.ts';
import {
  browserSupportsWebAuthn,
  startAuthentication,
  startRegistration,
  type PublicKeyCredentialCreationOptionsJSON,
  type PublicKeyCredentialRequestOptionsJSON,
} from '@simplewebauthn/browser';

/** Has this browser passkeys at all, on this page? */
export const hasPasskeys = (): boolean => browserSupportsWebAuthn();

/** @throws ForPeople when the browser or the person said no: the reason a browser gives is vague on purpose. */
export async function makePasskey(options: PasskeyCreation): Promise<PasskeyMade> {
  const optionsJSON = options as PublicKeyCredentialCreationOptionsJSON;
  try {
    return passkeyMade.parse(await startRegistration({ optionsJSON }));
  } catch (cause) {
    const known = cause instanceof Error && cause.name === 'InvalidStateError';
    throw new ForPeople(
      known
        ? 'This device holds a passkey of your account already.'
        : 'No passkey was made: it was cancelled, took too long, or the browser has none.',
      { cause },
    );
  }
}

export async function signByPasskey(options: PasskeyRequest): Promise<PasskeySigned> {
  const optionsJSON = options as PublicKeyCredentialRequestOptionsJSON;
  try {
    return passkeySigned.parse(await startAuthentication({ optionsJSON }));
  } catch (cause) {
    throw new ForPeople('No passkey was shown: it was cancelled, took too long, or is on another device.', {
      cause,
    });
  }
}
