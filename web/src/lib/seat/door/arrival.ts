import { joinInput, type JoinInput } from '@oddglass/shared/contracts/seat.ts';
import { token } from '@oddglass/shared/contracts/common.ts';

/** How somebody came to the page. A fragment never reaches a server or its log. */
export type Arrival =
  | { kind: 'join'; input: JoinInput }
  | { kind: 'seat'; seatToken: string }
  | { kind: 'move'; moveToken: string }
  | { kind: 'broken-link' }
  | { kind: 'bare' };

/**
 * Reads `#<token>` (the QR of the tasting), `#move.<moveToken>` (a seat that goes on here) and `#seat.<seatToken>` (the
 * seat of this device, kept as a bookmark).
 */
export function readFragment(hash: string): Arrival {
  const fragment = hash.replace(/^#/, '');
  if (fragment === '') return { kind: 'bare' };
  const [, kind, rest] = /^(seat|move)\.(.*)$/.exec(fragment) ?? [];
  const read = token.safeParse(rest ?? fragment);
  if (!read.success) return { kind: 'broken-link' };
  if (kind === 'move') return { kind, moveToken: read.data };
  return kind === 'seat' ? { kind, seatToken: read.data } : { kind: 'join', input: { token: read.data } };
}

/**
 * A code as people type it: spaces, dots, dashes and lower case are forgiven; a whole link pasted into the
 * field is a way in too. Null when it cannot be a code.
 */
export function readTyped(typed: string): Arrival | null {
  const hash = typed.indexOf('#');
  if (hash >= 0) {
    const arrival = readFragment(typed.slice(hash).trim());
    return arrival.kind === 'bare' || arrival.kind === 'broken-link' ? null : arrival;
  }
  const read = joinInput.safeParse({ code: typed.normalize('NFKC').replace(/[\s\p{P}\p{S}]/gu, '') });
  return read.success ? { kind: 'join', input: read.data } : null;
}
