import type { JoinInput, JoinOffer, SeatView } from '@oddglass/shared/contracts/seat.ts';
import { ApiProblem } from '#lib/api/client.ts';
import * as api from '#lib/api/seat.ts';
import { fetchWithTimeout } from '#lib/device/device.ts';
import { retryDelay } from '#lib/live/retry-delay.ts';
import * as device from '../keep/device-store.ts';
import { isAway, isSeatUnknown } from '../line/refusal.ts';
import type { Door } from '../tray/screen.ts';
import { readFragment, readTyped, type Arrival } from './arrival.ts';

/** What happens behind the door. */
export interface Inside {
  /** Takes the seat of this token in hand; throws what the server refuses. */
  enter(seatToken: string): Promise<void>;
  leaveSeat(): void;
  /** The token opens no seat any more. */
  lose(seatToken: string | null): void;
  /** Seats of this tasting are on offer. */
  offered(session: SeatView['session'] | JoinOffer['session']): void;
  storageRefused(): void;
  trouble(reason: unknown): void;
}

// How soon a tablet before the door sees that a wave was called, or a seat taken.
const LOOK_MS = 3_000;

/** From an address, a code or a kept seat to a seat: which door this device stands before. */
export class Arriving {
  door = $state<Door>('opening');
  offer = $state.raw<JoinOffer | null>(null);
  #joinInput: JoinInput | null = null;
  #arrival: Arrival = { kind: 'bare' };
  #retryTimer: ReturnType<typeof setTimeout> | undefined;
  #retries = 0;
  #lookTimer: ReturnType<typeof setTimeout> | undefined;
  readonly #inside: Inside;
  readonly #chance: () => number;

  constructor(inside: Inside, chance: () => number) {
    this.#inside = inside;
    this.#chance = chance;
  }

  end(): void {
    clearTimeout(this.#retryTimer);
    clearTimeout(this.#lookTimer);
  }

  /** With what the address brought, else with the seat this device has. */
  start(hash: string): Promise<void> {
    return this.#arrive(readFragment(hash));
  }

  /** Another fragment in the address of an open page: a QR scanned again. */
  arriveAnew(hash: string): void {
    const arrival = readFragment(hash);
    if (arrival.kind !== 'bare') void this.#arrive(arrival);
  }

  retry(): void {
    void this.#arrive(this.#arrival);
  }

  /** A typed code offers seats; the end of a seat's link, typed, is that seat. Throws what it cannot be read as. */
  async submitCode(typed: string): Promise<void> {
    const arrival = readTyped(typed);
    if (arrival?.kind === 'seat' || arrival?.kind === 'move') return this.#arrive(arrival);
    if (arrival?.kind !== 'join')
      throw new Error('This is not a whole code: it has eight letters and digits.');
    await this.#offerOrResume(arrival.input);
  }

  async takeSeat(seat: number): Promise<void> {
    const input = this.#joinInput;
    if (!input) return;
    try {
      const { seatToken } = await api.takeSeat(fetchWithTimeout, { ...input, seat });
      if (!device.rememberSeat(seatToken)) this.#inside.storageRefused();
      device.rememberDoor(null);
      await this.#inside.enter(seatToken);
    } catch (reason) {
      if (reason instanceof ApiProblem && ['seat-taken', 'wave-not-called'].includes(reason.name)) {
        this.offer = await api.join(fetchWithTimeout, input);
      }
      throw reason;
    }
  }

  /** Back before the door, with the tasting this device came for. */
  leave(): void {
    device.rememberSeat(null);
    device.forgetReceipt();
    this.#inside.leaveSeat();
    void this.#arrive(this.#joinInput ? { kind: 'join', input: this.#joinInput } : { kind: 'bare' });
  }

  async #arrive(arrival: Arrival): Promise<void> {
    clearTimeout(this.#retryTimer);
    this.#arrival = arrival;
    this.#inside.trouble(undefined);
    const stored = device.recallSeat();
    try {
      if (arrival.kind === 'seat') {
        await this.#inside.enter(arrival.seatToken);
        if (!device.rememberSeat(arrival.seatToken)) this.#inside.storageRefused();
      } else if (arrival.kind === 'move') {
        await this.#moveHere(arrival.moveToken);
      } else if (arrival.kind === 'join') {
        await this.#offerOrResume(arrival.input);
      } else if (stored) {
        await this.#inside.enter(stored);
      } else if (arrival.kind !== 'bare' || !(await this.#backAtDoor())) {
        this.door = 'code';
        if (arrival.kind === 'broken-link')
          this.#inside.trouble(new Error('This link is not complete. Scan it again, or type the code.'));
      }
      this.#retries = 0;
    } catch (reason) {
      if (isAway(reason)) {
        this.door = 'no-network';
        this.#retryTimer = setTimeout(() => this.retry(), retryDelay(this.#retries++, this.#chance()));
      } else if (isSeatUnknown(reason)) {
        this.#inside.lose(arrival.kind === 'seat' ? arrival.seatToken : stored);
      } else {
        this.door = 'code';
        this.#inside.trouble(reason);
      }
    }
  }

  /** A tablet that was handed on stands before the door of its tasting, also after a reload; false once that is shut. */
  async #backAtDoor(): Promise<boolean> {
    const token = device.recallDoor();
    if (token === null) return false;
    try {
      await this.#offerOrResume({ token });
      return true;
    } catch (reason) {
      if (!isShut(reason)) throw reason;
      device.rememberDoor(null);
      return false;
    }
  }

  /** Where seats are called in waves, those on offer change while somebody waits before the door. */
  #lookLater(): void {
    clearTimeout(this.#lookTimer);
    if (this.door === 'seats' && this.offer?.wave)
      this.#lookTimer = setTimeout(() => void this.#lookAgain(), LOOK_MS);
  }

  async #lookAgain(): Promise<void> {
    const input = this.#joinInput;
    if (this.door !== 'seats' || !input) return;
    try {
      const offer = await api.join(fetchWithTimeout, input);
      if (this.door === 'seats' && this.#joinInput === input) this.offer = offer;
    } catch (reason) {
      if (isShut(reason) && this.door === 'seats' && this.#joinInput === input) {
        device.rememberDoor(null);
        this.door = 'code';
        this.#inside.trouble(reason);
      }
    }
    this.#lookLater();
  }

  /** The way is used up by going it: from here on it is the seat that is tried again. */
  async #moveHere(moveToken: string): Promise<void> {
    const { seatToken } = await api.moveHere(fetchWithTimeout, { token: moveToken });
    this.#arrival = { kind: 'seat', seatToken };
    if (!device.rememberSeat(seatToken)) this.#inside.storageRefused();
    await this.#inside.enter(seatToken);
  }

  /** A scan of the same tasting leads back to the seat this device has; another tasting offers its seats. */
  async #offerOrResume(input: JoinInput): Promise<void> {
    const stored = device.recallSeat();
    let offer: JoinOffer;
    try {
      offer = await api.join(fetchWithTimeout, input);
    } catch (reason) {
      if (!isShut(reason) || !stored || this.door !== 'opening') throw reason;
      return this.#inside.enter(stored);
    }
    this.#joinInput = input;
    if (!('token' in input) || input.token !== device.recallDoor()) device.rememberDoor(null);
    if (stored) {
      const view = await api.getSeat(fetchWithTimeout, stored).catch((reason: unknown) => {
        if (isSeatUnknown(reason)) return null;
        throw reason;
      });
      if (view?.session.fingerprint === offer.session.fingerprint) return this.#inside.enter(stored);
    }
    this.#inside.leaveSeat();
    this.offer = offer;
    this.#inside.offered(offer.session);
    this.door = 'seats';
    this.#lookLater();
  }
}

/** No open tasting by this token or code, or none any more. */
const isShut = (reason: unknown): boolean => reason instanceof ApiProblem && reason.name === 'join-refused';
