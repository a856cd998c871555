import { ballotInput, type BallotInput, type BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import { token } from '@oddglass/shared/contracts/common.ts';
import { z } from 'zod';
import { ApiProblem } from '#lib/api/client.ts';
import { retryDelay } from '#lib/live/retry-delay.ts';
import { sheetKey } from '#lib/seat/tray/sheets.ts';

/**
 * waiting: it will be sent again. not-counted: the tasting closed before it came in. seat-lost: another tablet
 * holds the seat. refused: the host's server will never take it as it is. All of them stay on this device.
 */
export const keptState = z.enum(['waiting', 'not-counted', 'seat-lost', 'refused']);

/** A ballot that the server has not acknowledged, with all that is needed to send it and to speak of it. */
export const keptBallot = z.object({
  ballot: ballotInput,
  seatToken: token,
  seat: z.number().int(),
  trayNumber: z.number().int(),
  /** What the assessor knows its sheet by, for example 'tray 2' or '431 on tray 2'. */
  name: z.string(),
  title: z.string(),
  /** By the device's clock, ms since 1970; the rest counts from here while there is no network. */
  keptAt: z.number(),
  state: keptState,
  /** The server's words when it refused. */
  detail: z.string(),
});
export type KeptBallot = z.infer<typeof keptBallot>;

/** Where ballots are kept; one for each sheet. */
export interface BallotStore {
  read(): Promise<KeptBallot[]>;
  write(kept: KeptBallot): Promise<void>;
  /** `key` is the ballot's `sheetKey`. */
  remove(key: string): Promise<void>;
}

export type AfterFailure =
  | { kind: 'retry' }
  | { kind: 'stay'; state: KeptBallot['state']; detail: string }
  | { kind: 'other-stands'; stored: BallotReceipt }
  | { kind: 'new-id' };

/**
 * What to do with a ballot after a failed try. Unless the server itself said that the ballot can't be taken,
 * nothing is known about it, and it is tried again: sending twice counts once.
 */
export function afterFailure(reason: unknown): AfterFailure {
  if (!(reason instanceof ApiProblem)) return { kind: 'retry' };
  const { stored, status, detail } = reason.problem;
  switch (reason.name) {
    case 'ballot-differs':
      return stored ? { kind: 'other-stands', stored } : { kind: 'new-id' };
    case 'wrong-state':
      return { kind: 'stay', state: 'not-counted', detail };
    case 'seat-unknown':
      return { kind: 'stay', state: 'seat-lost', detail };
    case 'cautions-open':
      return { kind: 'retry' };
  }
  return status >= 500 || status === 429 ? { kind: 'retry' } : { kind: 'stay', state: 'refused', detail };
}

export interface OutboxOptions {
  store: BallotStore;
  send: (seatToken: string, ballot: BallotInput) => Promise<BallotReceipt>;
  newId: () => string;
  chance: () => number;
  /** The list of kept ballots has changed. */
  onChange: (kept: KeptBallot[]) => void;
  /** The server has this ballot on disk. */
  onReceipt: (receipt: BallotReceipt) => void;
  /** The server had another answer for the sheet: that one stands, and ours is dropped. */
  onOther: (stored: BallotReceipt, ours: KeptBallot) => void;
  /** The device refused to store; the ballot lives in this page only. */
  onStoreRefused: () => void;
}

/** Keeps ballots from before they are sent until the server has acknowledged them. */
export class Outbox {
  readonly #options: OutboxOptions;
  readonly #kept = new Map<string, KeptBallot>();
  #running: Promise<void> | null = null;
  #again = false;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #attempt = 0;
  #ended = false;

  constructor(options: OutboxOptions) {
    this.#options = options;
  }

  /** Ballots left from before. One that waits may have reached the server already; sending again settles it. */
  async load(): Promise<void> {
    try {
      for (const kept of await this.#options.store.read()) this.#kept.set(sheetKey(kept.ballot), kept);
    } catch {
      this.#options.onStoreRefused();
    }
    this.#changed();
  }

  /** On disk first, then on its way. */
  async keep(kept: KeptBallot): Promise<void> {
    await this.#put(kept);
    void this.flush();
  }

  /** The seat goes on with another token: its ballots do too. */
  async moveTo(seatToken: string, trayIds: readonly string[]): Promise<void> {
    for (const kept of [...this.#kept.values()]) {
      const { state } = kept;
      if (!trayIds.includes(kept.ballot.trayId) || kept.seatToken === seatToken) continue;
      await this.#put({ ...kept, seatToken, state: state === 'seat-lost' ? 'waiting' : state });
    }
  }

  /** Network, page or socket is back: try at once. */
  nudge(): void {
    this.#attempt = 0;
    void this.flush();
  }

  /** Tries every waiting ballot once; one run at a time. */
  flush(): Promise<void> {
    if (this.#running) {
      this.#again = true;
      return this.#running;
    }
    clearTimeout(this.#timer);
    this.#running = this.#run().finally(() => {
      this.#running = null;
      if (this.#again) {
        this.#again = false;
        void this.flush();
      }
    });
    return this.#running;
  }

  /** The person has read that it was not counted. A waiting ballot is not let go. */
  async letGo(key: string): Promise<void> {
    const kept = this.#kept.get(key);
    if (kept && kept.state !== 'waiting') await this.#drop(key);
  }

  end(): void {
    this.#ended = true;
    clearTimeout(this.#timer);
  }

  async #run(): Promise<void> {
    const waiting = [...this.#kept.values()]
      .filter(({ state }) => state === 'waiting')
      .sort((a, b) => a.keptAt - b.keptAt);
    let again = false;
    for (const kept of waiting) {
      if (this.#ended) return;
      again = (await this.#try(kept)) || again;
    }
    if (!again || this.#ended) {
      this.#attempt = 0;
      return;
    }
    this.#timer = setTimeout(() => void this.flush(), retryDelay(this.#attempt, this.#options.chance()));
    this.#attempt += 1;
  }

  /** True when it has to be tried again. */
  async #try(kept: KeptBallot): Promise<boolean> {
    const key = sheetKey(kept.ballot);
    let receipt: BallotReceipt;
    try {
      receipt = await this.#options.send(kept.seatToken, kept.ballot);
    } catch (reason) {
      const next = afterFailure(reason);
      if (next.kind === 'retry') return true;
      // The seat went on with another token meanwhile: what was said of the old one no longer matters.
      if (this.#kept.get(key)?.seatToken !== kept.seatToken) return true;
      if (next.kind === 'new-id') {
        await this.#put({ ...kept, ballot: { ...kept.ballot, id: this.#options.newId() } });
        return true;
      }
      if (next.kind === 'other-stands') {
        await this.#drop(key);
        this.#options.onOther(next.stored, kept);
        return false;
      }
      await this.#put({ ...kept, state: next.state, detail: next.detail });
      return false;
    }
    this.#options.onReceipt(receipt);
    await this.#drop(key);
    return false;
  }

  async #put(kept: KeptBallot): Promise<void> {
    this.#kept.set(sheetKey(kept.ballot), kept);
    await this.#options.store.write(kept).catch(() => this.#options.onStoreRefused());
    this.#changed();
  }

  async #drop(key: string): Promise<void> {
    this.#kept.delete(key);
    // Left behind on a failing disk it is sent once more after a reload, and counted once.
    await this.#options.store.remove(key).catch(() => this.#options.onStoreRefused());
    this.#changed();
  }

  #changed(): void {
    this.#options.onChange(
      [...this.#kept.values()].sort(
        (a, b) =>
          a.trayNumber - b.trayNumber || a.ballot.part - b.ballot.part || a.ballot.sheet - b.ballot.sheet,
      ),
    );
  }
}
