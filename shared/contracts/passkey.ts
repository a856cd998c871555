import { z } from 'zod';
import { id, moment, text } from './common.ts';

// Shapes of Web Authentication (W3C, Level 3, section 5.1.8 to 5.1.10 and 5.4 to 5.5) as JSON carries them. What a browser
// sends is bounded here and looked into by the library that checks it.

const base64url = (max: number) =>
  z
    .string()
    .min(1)
    .max(max)
    .regex(/^[A-Za-z0-9_-]+$/, 'This is not what a passkey answers.');
const credentialId = base64url(1400);
const transports = z.array(z.string().max(20)).max(10);
const userVerification = z.enum(['required', 'preferred', 'discouraged']);
const credential = z.object({
  id: z.string(),
  type: z.literal('public-key'),
  transports: z.array(z.string()).optional(),
});

/** What the browser makes a passkey by. */
export const passkeyCreation = z.object({
  rp: z.object({ id: z.string(), name: z.string() }),
  user: z.object({ id: z.string(), name: z.string(), displayName: z.string() }),
  challenge: z.string(),
  pubKeyCredParams: z.array(z.object({ alg: z.number().int(), type: z.literal('public-key') })),
  timeout: z.number().int(),
  excludeCredentials: z.array(credential),
  authenticatorSelection: z.object({
    residentKey: userVerification,
    requireResidentKey: z.boolean(),
    userVerification,
  }),
  attestation: z.literal('none'),
});
export type PasskeyCreation = z.infer<typeof passkeyCreation>;

/** What the browser asks a passkey to sign. */
export const passkeyRequest = z.object({
  rpId: z.string(),
  challenge: z.string(),
  timeout: z.number().int(),
  allowCredentials: z.array(credential),
  userVerification,
});
export type PasskeyRequest = z.infer<typeof passkeyRequest>;

const answered = z.object({ id: credentialId, rawId: credentialId, type: z.literal('public-key') });

/** A passkey that the browser made. */
export const passkeyMade = answered.extend({
  response: z.object({
    clientDataJSON: base64url(4000),
    attestationObject: base64url(20_000),
    transports: transports.optional(),
  }),
});
export type PasskeyMade = z.infer<typeof passkeyMade>;

/** What a passkey signed. */
export const passkeySigned = answered.extend({
  response: z.object({
    clientDataJSON: base64url(4000),
    authenticatorData: base64url(4000),
    signature: base64url(4000),
    userHandle: base64url(100).optional(),
  }),
});
export type PasskeySigned = z.infer<typeof passkeySigned>;

const passkeyName = text(60);
const passphraseNow = z.string().min(1, 'Fill this in.').max(200);

/** Asks again who it is, before second factors change. */
export const passphraseNowInput = z.object({ passphrase: passphraseNow });
export const addPasskeyInput = z.object({ name: passkeyName, made: passkeyMade });
export type AddPasskeyInput = z.infer<typeof addPasskeyInput>;
export const renamePasskeyInput = z.object({ name: passkeyName });

export const passkeyView = z.object({
  id,
  name: z.string(),
  createdAt: moment,
  /** Null: not yet. */
  lastUsedAt: moment.nullable(),
  /** It works under the address that asks. */
  here: z.boolean(),
});
export type PasskeyView = z.infer<typeof passkeyView>;

/** What an account is asked for besides its passphrase. */
export const secondFactors = z.object({
  /** Where passkeys can be added, as scheme and host; null where they cannot, with the reason. */
  origin: z.string().nullable(),
  /** Passkeys need an encrypted connection, and a name instead of a numeric address. */
  lacks: z.enum(['https', 'name']).nullable(),
  passkeys: z.array(passkeyView),
  recoveryCodesLeft: z.number().int(),
});
export type SecondFactors = z.infer<typeof secondFactors>;

/** Ten codes, shown this once. */
export const recoveryCodes = z.object({ codes: z.array(z.string()) });
/** `codes` come with the first passkey, else null. */
export const passkeyAdded = z.object({
  secondFactors,
  codes: z.array(z.string()).nullable(),
});

/** The passphrase was right; a passkey or a recovery code is asked for, within some minutes, from the same browser. */
export const secondFactorAsked = z.object({
  secondFactor: z.object({
    /** A passkey of the account works under this address; else only a recovery code does. */
    passkey: z.boolean(),
    endsAt: moment,
  }),
});
export type SecondFactorAsked = z.infer<typeof secondFactorAsked>;
export const signedByPasskeyInput = z.object({ signed: passkeySigned });
/** As written down, with or without hyphens and spaces, in either case. */
export const recoveryCodeInput = z.object({ code: text(40) });
