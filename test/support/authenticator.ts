import { createHash, generateKeyPairSync, randomBytes, sign, type KeyObject } from 'node:crypto';
import { isoCBOR } from '@simplewebauthn/server/helpers';
import type {
  PasskeyCreation,
  PasskeyMade,
  PasskeyRequest,
  PasskeySigned,
} from '@oddglass/shared/contracts/passkey.ts';

// Browser and authenticator in one, after Web Authentication Level 3 (W3C): client data (5.8.1), authenticator data (6.1),
// attestation object without attestation (8.7), key as COSE by RFC 9053 (ES256).

const PRESENT = 0x01;
const ATTESTED = 0x40;
const sha256 = (data: string | Buffer) => createHash('sha256').update(data).digest();
const base64url = (data: Uint8Array | string) => Buffer.from(data).toString('base64url');
const counted = (value: number, bytes: number) => {
  const buffer = Buffer.alloc(bytes);
  buffer.writeUIntBE(value, 0, bytes);
  return buffer;
};

/** What goes wrong on purpose. */
interface Bent {
  origin?: string;
  type?: string;
  challenge?: string;
}

/** A passkey in software: one ES256 key, whose counter the test may set. */
export class Authenticator {
  readonly #origin: string;
  readonly #privateKey: KeyObject;
  readonly #cose: Buffer;
  readonly id = randomBytes(16);
  counter = 0;

  constructor(origin: string) {
    this.#origin = origin;
    const { privateKey, publicKey } = generateKeyPairSync('ec', { namedCurve: 'P-256' });
    this.#privateKey = privateKey;
    const { x = '', y = '' } = publicKey.export({ format: 'jwk' });
    const key = new Map<number, number | Uint8Array>([
      [1, 2], // kty: EC2
      [3, -7], // alg: ES256
      [-1, 1], // crv: P-256
      [-2, new Uint8Array(Buffer.from(x, 'base64url'))],
      [-3, new Uint8Array(Buffer.from(y, 'base64url'))],
    ]);
    this.#cose = Buffer.from(isoCBOR.encode(key));
  }

  #clientData(type: string, challenge: string, bent: Bent): Buffer {
    const said = { type, challenge, origin: this.#origin, crossOrigin: false, ...bent };
    return Buffer.from(JSON.stringify(said));
  }

  #data(rpId: string, flags: number): Buffer {
    return Buffer.concat([sha256(rpId), counted(flags, 1), counted(this.counter, 4)]);
  }

  make({ rp, challenge }: PasskeyCreation, bent: Bent = {}): PasskeyMade {
    const credential = Buffer.concat([Buffer.alloc(16), counted(this.id.length, 2), this.id, this.#cose]);
    const authData = new Uint8Array(Buffer.concat([this.#data(rp.id, PRESENT | ATTESTED), credential]));
    const attestation = new Map<string, unknown>([
      ['fmt', 'none'],
      ['attStmt', new Map()],
      ['authData', authData],
    ]);
    return {
      ...this.#named,
      response: {
        clientDataJSON: base64url(this.#clientData('webauthn.create', challenge, bent)),
        attestationObject: base64url(
          isoCBOR.encode(attestation as unknown as Parameters<typeof isoCBOR.encode>[0]),
        ),
        transports: ['internal'],
      },
    };
  }

  sign({ rpId, challenge }: PasskeyRequest, bent: Bent = {}): PasskeySigned {
    const clientData = this.#clientData('webauthn.get', challenge, bent);
    const authenticatorData = this.#data(rpId, PRESENT);
    const signed = Buffer.concat([authenticatorData, sha256(clientData)]);
    return {
      ...this.#named,
      response: {
        clientDataJSON: base64url(clientData),
        authenticatorData: base64url(authenticatorData),
        signature: base64url(sign('sha256', signed, this.#privateKey)),
      },
    };
  }

  get #named() {
    return { id: base64url(this.id), rawId: base64url(this.id), type: 'public-key' } as const;
  }
}
