import { liveSocket, type LiveSocket, type LiveSocketOptions, type LiveState } from '#lib/live/socket.ts';
import { benchMessage, type BenchMessage, type Board } from '@oddglass/shared/contracts/live.ts';
import { applyEvent } from '@oddglass/shared/rules/board.ts';

type Connect = (options: LiveSocketOptions<BenchMessage>) => LiveSocket;

// After these the session itself reads differently: its state, its actions, its join code.
const STEPS: ReadonlySet<string> = new Set([
  'opened',
  'closed',
  'revealed',
  'key-taken',
  'join-code-changed',
]);

export interface BoardOptions {
  session: string;
  /** The board as the page was loaded. */
  board: Board;
  /** The session took a step, here or on another device. */
  onStep: () => void;
}

/** The live board: a snapshot, then the session's log event by event, without a gap, across lost connections. */
export class SessionBoard {
  board = $state.raw<Board>() as Board;
  link = $state<LiveState>('connecting');
  /** The connection stood once; a loss after that is told. */
  stood = $state(false);
  readonly #session: string;
  readonly #onStep: () => void;
  #socket: LiveSocket | undefined;
  /** Nothing between the last event and now is missing. */
  #whole = true;

  constructor({ session, board, onStep }: BoardOptions) {
    this.#session = session;
    this.board = board;
    this.#onStep = onStep;
  }

  /** Connects; returns how to stop. */
  watch(connect: Connect = liveSocket): () => void {
    const socket = connect({
      url: () => this.address,
      parse: (value) => benchMessage.parse(value),
      onMessage: (message) => this.hear(message),
      onState: (state) => {
        this.link = state;
        if (state === 'open') this.stood = true;
      },
    });
    this.#socket = socket;
    return () => socket.end();
  }

  /** Where to listen: on from the last event, or with a snapshot first after a gap. */
  get address(): string {
    const path = `/api/sessions/${this.#session}/live`;
    return this.#whole ? `${path}?after=${this.board.seq}` : path;
  }

  hear(message: BenchMessage): void {
    if (message.type === 'snapshot') {
      const moved = message.board.state !== this.board.state;
      this.board = message.board;
      this.#whole = true;
      if (moved) this.#onStep();
      return;
    }
    const { event } = message;
    if (event.seq > this.board.seq + 1) {
      // Something between was not told. What follows a gap cannot be trusted: ask for the whole board.
      if (this.#whole) {
        this.#whole = false;
        this.#socket?.reconnect();
      }
      return;
    }
    if (event.seq <= this.board.seq) return;
    this.board = applyEvent(this.board, event);
    if (STEPS.has(event.event.kind)) this.#onStep();
  }

  /** The page was read again: take its board when it is further on. */
  adopt(board: Board): void {
    if (board.seq > this.board.seq) this.board = board;
  }
}
