import type {
  SoloAnswer,
  SoloAnswerInput,
  SoloStoodInput,
  SoloView,
} from '@oddglass/shared/contracts/solo.ts';
import { ApiProblem, NoAnswer } from '#lib/api/client.ts';
import { confirmSoloCautions, endSolo, getSolo, lockSoloAnswer, noteSoloStood } from '#lib/api/solo.ts';
import { fetchWithTimeout } from '#lib/device/device.ts';
import { randomId } from '#lib/seat/door/random-id.ts';
import type { KeptAnswer } from './kept-answer.ts';

/** After these the series has moved on without this page: the first answer stands, and the page looks again. */
const MOVED = new Set(['tray-answered', 'not-this-tray', 'id-taken', 'entry-moved', 'answers-not-locked']);
const fresh = (): string => randomId((bytes) => crypto.getRandomValues(bytes));

/** One series in the hand: what the server says of it, and what is on its way there. */
export class SoloDesk {
  view = $state.raw() as SoloView;
  /** The tray that stands poured and shuffled, as its person said; forgotten with the page. */
  poured = $state<number | null>(null);
  busy = $state(false);
  reason = $state.raw<unknown>(undefined);
  /** An answer that the server has not acknowledged. */
  waiting = $state.raw<SoloAnswerInput | null>(null);
  readonly #kept: KeptAnswer;

  constructor(view: SoloView, kept: KeptAnswer) {
    this.view = view;
    this.#kept = kept;
  }

  /** What was kept before a reload goes out again, under the same id. */
  async begin(): Promise<void> {
    this.waiting = this.#kept.read();
    if (this.waiting) await this.sendAgain();
  }

  confirmCautions = (): Promise<void> => this.#run(() => confirmSoloCautions(fetchWithTimeout, this.view.id));

  end = (): Promise<void> => this.#run(() => endSolo(fetchWithTimeout, this.view.id));

  async lock(tray: number, answer: SoloAnswer): Promise<void> {
    if (this.waiting) return;
    this.waiting = { id: fresh(), tray, answer };
    this.#kept.keep(this.waiting);
    await this.sendAgain();
  }

  async sendAgain(): Promise<void> {
    const { waiting } = this;
    if (!waiting) return;
    await this.#run(() => lockSoloAnswer(fetchWithTimeout, this.view.id, waiting));
    // Only silence keeps it: whatever the server said, it has looked at this answer.
    if (this.reason instanceof NoAnswer) return;
    if (this.reason instanceof ApiProblem && this.reason.problem.status >= 500) return;
    this.#kept.drop();
    this.waiting = null;
    this.poured = null;
  }

  /** The id stays the same while the same entry is sent again. */
  note = (entry: Omit<SoloStoodInput, 'id'>, id: string): Promise<void> =>
    this.#run(() => noteSoloStood(fetchWithTimeout, this.view.id, { ...entry, id }));

  newId = fresh;

  look = (): Promise<void> => this.#run(() => getSolo(fetchWithTimeout, this.view.id));

  async #run(work: () => Promise<SoloView>): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    this.reason = undefined;
    try {
      this.view = await work();
    } catch (reason) {
      this.reason = reason;
      if (reason instanceof ApiProblem && MOVED.has(reason.name)) {
        this.view = await getSolo(fetchWithTimeout, this.view.id).catch(() => this.view);
      }
    } finally {
      this.busy = false;
    }
  }
}
