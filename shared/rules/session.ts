import type { Role } from '../contracts/account.ts';
import type { Blinding, SessionAction, SessionState } from '../contracts/session.ts';
import { nextWave, wavesOf, type Seating } from './waves.ts';

/** The way of a session: only forward. */
export const SESSION_STATES: readonly SessionState[] = ['draft', 'sealed', 'open', 'closed', 'revealed'];

interface Allowance {
  action: SessionAction;
  states: readonly SessionState[];
  roles: readonly Role[];
  /** Of rehearsals alone, or of everything but them; left out: of both. */
  of?: 'rehearsals' | 'tastings';
}

/**
 * One table for the API and the screens. 'pour' by a host needs the key taken first,
 * which makes the session single-blind for good.
 */
const ALLOWANCES: readonly Allowance[] = [
  { action: 'edit', states: ['draft'], roles: ['host'] },
  { action: 'remove', states: ['draft'], roles: ['host'] },
  // A rehearsal is nothing that has to be kept.
  { action: 'remove', states: ['sealed', 'open', 'closed', 'revealed'], roles: ['host'], of: 'rehearsals' },
  { action: 'rehearse', states: ['draft', 'sealed'], roles: ['host'], of: 'tastings' },
  { action: 'play', states: ['open'], roles: ['host'], of: 'rehearsals' },
  { action: 'seal', states: ['draft'], roles: ['host'] },
  { action: 'open', states: ['sealed'], roles: ['host'] },
  { action: 'close', states: ['open'], roles: ['host'] },
  { action: 'reveal', states: ['closed'], roles: ['host'] },
  { action: 'take-key', states: ['sealed', 'open'], roles: ['host'] },
  { action: 'pour', states: ['sealed', 'open', 'closed', 'revealed'], roles: ['steward', 'host'] },
  { action: 'rotate-code', states: ['open'], roles: ['host', 'steward'] },
  { action: 'call-wave', states: ['open'], roles: ['host', 'steward'] },
  { action: 'hand-over', states: ['open'], roles: ['host'] },
  { action: 'free-seat', states: ['open'], roles: ['host'] },
  { action: 'print-ballots', states: ['sealed', 'open'], roles: ['host', 'steward'] },
  { action: 'set-aside', states: ['sealed', 'open'], roles: ['host'] },
  { action: 'open-desk', states: ['open'], roles: ['host'] },
  { action: 'read-result', states: ['revealed'], roles: ['host', 'steward'] },
];

export interface SessionStanding {
  state: SessionState;
  blinding: Blinding;
  /** Left out or null: a tasting. */
  rehearsal?: object | boolean | null;
  /** Its plan, and the wave called last; left out: everybody sits at once. */
  settings?: Seating;
  wave?: number | null;
  /** Its plan was sealed on another server, where it is revealed. */
  guest?: object | null;
}

/** May somebody in this role do this now? */
export function mayAct(session: SessionStanding, role: Role, action: SessionAction): boolean {
  return actionsFor(session, role).includes(action);
}

/** Everything a role may do with the session as it stands. */
export function actionsFor(session: SessionStanding, role: Role): SessionAction[] {
  const kind = session.rehearsal ? 'rehearsals' : 'tastings';
  return ALLOWANCES.filter(({ action, states, roles, of = kind }) => {
    if (of !== kind || !states.includes(session.state) || !roles.includes(role)) return false;
    if (action === 'reveal' && session.guest) return false;
    const keyInHand = session.blinding === 'single' || session.state === 'revealed';
    if (action === 'pour' && role === 'host') return keyInHand;
    // Whoever knows the key and gets hold of a seat, or of the desk for paper, could answer by it.
    if (action === 'take-key' || action === 'hand-over' || action === 'open-desk')
      return session.blinding === 'double';
    if (action === 'call-wave') return waveAhead(session);
    return true;
  }).map(({ action }) => action);
}

function waveAhead({ settings, wave }: SessionStanding): boolean {
  const waves = settings ? wavesOf(settings, wave ?? null) : null;
  return waves !== null && nextWave(waves) !== null;
}

/** The state an action leads to; null when it does not move the session. */
export function stateAfter(action: SessionAction): SessionState | null {
  const steps: Partial<Record<SessionAction, SessionState>> = {
    seal: 'sealed',
    open: 'open',
    close: 'closed',
    reveal: 'revealed',
  };
  return steps[action] ?? null;
}
