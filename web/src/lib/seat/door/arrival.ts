import { joinInput, type JoinInput } from '@oddglass/shared/contracts/seat.ts';
import { token } from '@oddglass/shared/contracts/common.ts';

/** How somebody came to the page. A fragment never reaches a server or its log. */
export type Arrival =
  | { kind: 'join'; input: JoinInput }
  | { kind: 'seat'; seatToken: string }
  | { kind: 'broken-link' }
  | { kind: 'bare' };

/** Reads `#<token>` (the QR of the tasting) and `#seat.<seatToken>` (a seat to go on with). */
export function readFragment(hash: string): Arrival {
  const fragment = hash.replace(/^#/, '');
  if (fragment === '') return { kind: 'bare' };
  const seat = /^seat\.(.*)$/.exec(fragment)?.[1];
  const read = token.safeParse(seat ?? fragment);
  if (!read.success) return { kind: 'broken-link' };
  return seat === undefined
    ? { kind: 'join', input: { token: read.data } }
    : { kind: 'seat', seatToken: read.data };
}

/**
 * A code as people type it: spaces, dots, dashes and lower case are forgiven; a whole link pasted into the
 * field is a way in too. Null when it cannot be a code.
 */
export function readTyped(typed: string): Arrival | null {
  const hash = typed.indexOf('#');
  if (hash >= 0) {
    const arrival = readFragment(typed.slice(hash).trim());
    return arrival.kind === 'join' || arrival.kind === 'seat' ? arrival : null;
  }
  const read = joinInput.safeParse({ code: typed.normalize('NFKC').replace(/[\s\p{P}\p{S}]/gu, '') });
  return read.success ? { kind: 'join', input: read.data } : null;
}
