import { seatMessage, type SeatMessage } from '@oddglass/shared/contracts/live.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import { getSeat } from '#lib/api/seat.ts';
import { liveSocket, type LiveSocket, type LiveState } from '#lib/live/socket.ts';
import { fetchWithTimeout } from '#lib/device/device.ts';
import { isAway, isSeatUnknown } from './refusal.ts';

export interface SeatLineOptions {
  seatToken: string;
  onMessage: (message: SeatMessage) => void;
  onView: (view: SeatView) => void;
  /** The line stands, at first or again: what was missed has been read. */
  onOpen: () => void;
  onAway: (away: boolean) => void;
  onLost: () => void;
}

// A socket that is back within this time was never worth a word.
const AWAY_AFTER_MS = 2_500;

/** A seat's line to the host: the socket tells what changes, a request reads how things stand. */
export class SeatLine {
  readonly #options: SeatLineOptions;
  readonly #socket: LiveSocket;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #ended = false;

  constructor(options: SeatLineOptions) {
    this.#options = options;
    this.#socket = liveSocket({
      url: '/api/seat/live',
      protocols: ['oddglass', `seat.${options.seatToken}`],
      parse: (value) => seatMessage.parse(value),
      onMessage: options.onMessage,
      onState: (state) => this.#stand(state),
    });
  }

  /** Reads the seat anew; what goes wrong is told, not thrown. */
  async look(): Promise<void> {
    try {
      const view = await getSeat(fetchWithTimeout, this.#options.seatToken);
      if (this.#ended) return;
      this.#options.onAway(false);
      this.#options.onView(view);
    } catch (reason) {
      if (this.#ended) return;
      if (isSeatUnknown(reason)) this.#options.onLost();
      else if (isAway(reason)) this.#options.onAway(true);
    }
  }

  end(): void {
    this.#ended = true;
    clearTimeout(this.#timer);
    this.#socket.end();
  }

  #stand(state: LiveState): void {
    if (this.#ended) return;
    if (state === 'open') {
      clearTimeout(this.#timer);
      this.#timer = undefined;
      this.#options.onAway(false);
      void this.look().then(() => {
        if (!this.#ended) this.#options.onOpen();
      });
    } else if (state === 'away') {
      if (!navigator.onLine) this.#options.onAway(true);
      // A socket does not say why it was refused; asking by request does, for example that the seat is gone.
      this.#timer ??= setTimeout(() => {
        this.#timer = undefined;
        void this.look();
      }, AWAY_AFTER_MS);
    }
  }
}
