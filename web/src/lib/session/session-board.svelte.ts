import { liveSocket, type LiveSocket, type LiveState } from '#lib/live/socket.ts';
import { benchMessage, type BenchMessage } from '@oddglass/shared/contracts/live.ts';
import { type Board } from '@oddglass/shared/contracts/board.ts';
import { hear, liveAddress, type BoardFeed } from './board-feed.ts';

export interface BoardOptions {
  session: string;
  /** The board as the page was loaded. */
  board: Board;
  /** The session took a step, here or on another device. */
  onStep: () => void;
}

/** The live board: a snapshot, then the session's log event by event, without a gap, across lost connections. */
export class SessionBoard {
  link = $state<LiveState>('connecting');
  /** The connection stood once; a loss after that is told. */
  stood = $state(false);
  #feed = $state.raw<BoardFeed>() as BoardFeed;
  readonly #session: string;
  readonly #onStep: () => void;
  #socket: LiveSocket | undefined;

  constructor({ session, board, onStep }: BoardOptions) {
    this.#session = session;
    this.#feed = { board, whole: true };
    this.#onStep = onStep;
  }

  get board(): Board {
    return this.#feed.board;
  }

  /** Connects; returns how to stop. */
  watch(): () => void {
    const socket = liveSocket<BenchMessage>({
      url: () => liveAddress(this.#session, this.#feed),
      parse: (value) => benchMessage.parse(value),
      onMessage: (message) => this.#take(message),
      // Leads to the sign-in page, and leaves nothing of this one.
      onSignInEnded: () => location.reload(),
      onState: (state) => {
        this.link = state;
        if (state === 'open') this.stood = true;
      },
    });
    this.#socket = socket;
    return () => socket.end();
  }

  #take(message: BenchMessage): void {
    const { stepped, board, whole } = hear(this.#feed, message);
    const torn = this.#feed.whole && !whole;
    this.#feed = { board, whole };
    if (torn) this.#socket?.reconnect();
    if (stepped) this.#onStep();
  }

  /** The page was read again: take its board when it is further on. */
  adopt(board: Board): void {
    if (board.seq > this.#feed.board.seq) this.#feed = { board, whole: true };
  }
}
