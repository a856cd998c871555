import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { SeatMessage } from '@oddglass/shared/contracts/live.ts';
import type { JoinOffer, SeatView } from '@oddglass/shared/contracts/seat.ts';
import { ApiProblem } from '#lib/api/client.ts';
import * as api from '#lib/api/seat.ts';
import { Arriving } from './door/arriving.svelte.ts';
import { watchPassedTablet, type PassedTablet } from './door/passed-tablet.ts';
import { fetchWithTimeout } from '#lib/device/device.ts';
import * as device from './keep/device-store.ts';
import {
  forgetLight,
  recallLight,
  recallLightShown,
  rememberLight,
  type Light,
} from './keep/masking-light.ts';
import type { Draft, SheetStep } from './tray/draft.ts';
import { ballotsOf, dropDraft, keepChanges, keptDrafts } from './keep/drafts-kept.ts';
import { Outbox, type KeptBallot } from './keep/outbox.ts';
import { randomId } from './door/random-id.ts';
import { isSeatUnknown } from './line/refusal.ts';
import * as inHand from './tray/sheet-in-hand.ts';
import { screenOf, withKnownReceipts, withReceipt, type Door } from './tray/screen.ts';
import { SeatLine } from './line/seat-line.ts';
import { askedAt, keysOf, nameOfSheet, sheetKey, type Asked, type SheetPlace } from './tray/sheets.ts';

const newId = (): string => randomId((bytes) => crypto.getRandomValues(bytes));

/** One assessor's evening on one device: which screen, which sheet, what is kept and what the host has. */
export class Tasting {
  view = $state.raw<SeatView | null>(null);
  /** The sheets in hand; null between trays and after the last. */
  hand = $state.raw<inHand.Hand | null>(null);
  kept = $state.raw<readonly KeptBallot[]>([]);
  /** Sheets for which the host already had another answer: that one stands. */
  others = $state.raw<readonly BallotReceipt[]>([]);
  resting = $state(false);
  restEnds = $state<number | null>(null);
  away = $state(false);
  storageRefused = $state(false);
  storageAccepted = $state(false);
  busy = $state(false);
  trouble = $state.raw<unknown>(undefined);
  /** Told to assistive technology, and nothing else. */
  said = $state('');
  light = $state<Light>(recallLight() ?? recallLightShown() ?? 'day');

  #seatToken: string | null = $state(null);
  #line: SeatLine | null = null;
  #goingOn = false;
  #sending = false;
  /** The tablet is being handed on: that its seat is lost then is no news. */
  #passing = false;
  #passed: PassedTablet | null = null;
  readonly #arriving = new Arriving(
    {
      enter: (seatToken) => this.#enter(seatToken),
      leaveSeat: () => this.#leaveSeat(),
      lose: (seatToken) => this.#lose(seatToken),
      offered: (session) => this.#lightOf(session),
      storageRefused: () => (this.storageRefused = true),
      trouble: (reason) => (this.trouble = reason),
    },
    Math.random,
  );
  readonly #outbox = new Outbox({
    store: device.deviceBallots,
    send: (seatToken, ballot) => api.sendBallot(fetchWithTimeout, seatToken, ballot),
    newId,
    chance: Math.random,
    onChange: (kept) => (this.kept = kept),
    onReceipt: (receipt) => {
      this.#setReceived(receipt);
      if (this.#isOurs(receipt.trayId)) this.said = `The host has ${this.nameOf(receipt)}.`;
    },
    onOther: (stored) => {
      if (!this.#isOurs(stored.trayId)) return;
      this.#setReceived(stored);
      this.others = [...this.others, stored];
      this.said = `The host already had an answer for ${this.nameOf(stored)}. It stands.`;
    },
    onStoreRefused: () => (this.storageRefused = true),
  });

  readonly draft = $derived(inHand.draftInHand(this.hand));
  /** The sheet on the screen, with its tray and its part. */
  readonly asked = $derived(this.view && this.draft ? askedAt(this.view, this.draft) : undefined);
  readonly keptKeys = $derived(keysOf(this.kept.map(({ ballot }) => ballot)));
  readonly screen = $derived(
    screenOf({
      storageRefused: this.storageRefused && !this.storageAccepted,
      door: this.door,
      view: this.view,
      resting: this.resting,
      step: this.draft?.step ?? null,
      unanswered: this.#next().length > 0,
    }),
  );
  /** Ballots kept here that belong to this seat, and to other seats this device had. */
  readonly keptHere = $derived(this.kept.filter(({ ballot }) => this.#isOurs(ballot.trayId)));
  readonly keptElsewhere = $derived(this.kept.filter(({ ballot }) => !this.#isOurs(ballot.trayId)));
  get door(): Door {
    return this.#arriving.door;
  }
  get offer(): JoinOffer | null {
    return this.#arriving.offer;
  }
  /** What this seat is known by; null before one is taken. */
  get seatToken(): string | null {
    return this.#seatToken;
  }

  /** Opens the page: with what the address brought, else with the seat this device has. */
  async start(hash: string): Promise<void> {
    addEventListener('online', this.#onOnline);
    document.addEventListener('visibilitychange', this.#onVisible);
    this.#passed = watchPassedTablet({
      shows: (seatToken) => this.#seatToken === seatToken,
      isStale: () => this.#inWaves && !this.storageRefused && device.recallSeat() !== this.#seatToken,
    });
    this.storageRefused = !(await device.deviceKeeps());
    await this.#outbox.load();
    this.#outbox.nudge();
    await this.#arriving.start(hash);
  }

  end(): void {
    removeEventListener('online', this.#onOnline);
    document.removeEventListener('visibilitychange', this.#onVisible);
    this.#arriving.end();
    this.#passed?.end();
    this.#line?.end();
    this.#outbox.end();
  }

  setLight(light: Light): void {
    this.light = light;
    rememberLight(light);
  }

  arriveAnew(hash: string): void {
    this.#arriving.arriveAnew(hash);
  }

  retry(): void {
    this.#arriving.retry();
  }

  submitCode(typed: string): Promise<void> {
    return this.#attempt(() => this.#arriving.submitCode(typed));
  }

  takeSeat(seat: number): Promise<void> {
    return this.#attempt(() => this.#arriving.takeSeat(seat));
  }

  async confirmCautions(): Promise<void> {
    const seatToken = this.#seatToken;
    if (!seatToken) return;
    await this.#attempt(async () => {
      this.#adopt(await api.confirmCautions(fetchWithTimeout, seatToken));
      this.#tell();
    });
  }

  /** One step on; after the last step of the sheets in hand they are sent. */
  async forward(): Promise<void> {
    if (!this.hand || !this.view) return;
    const next = inHand.forward(this.view, this.hand);
    if (next === 'send') await this.#send();
    else this.#hold(next);
  }

  backTo(step: SheetStep): void {
    if (this.hand && this.view) this.#hold(inHand.backTo(this.view, this.hand, step));
  }

  goTo(place: SheetPlace): void {
    if (this.hand) this.#hold(inHand.goTo(this.hand, place));
  }

  answer(change: Partial<Pick<Draft, 'answer' | 'comment' | 'swallowing'>>): void {
    if (this.hand) this.#hold(inHand.change(this.hand, change));
  }

  /** What an assessor knows a sheet by. */
  nameOf(place: SheetPlace): string {
    const asked = this.view && askedAt(this.view, place);
    return this.view && asked ? nameOfSheet(this.view.session, asked) : 'this tray';
  }

  /** Written down first, then sent; the assessor goes on at once, also without network. */
  async #send(): Promise<void> {
    const { hand, view } = this;
    const seatToken = this.#seatToken;
    if (!hand || !view || !seatToken || this.busy) return;
    this.busy = this.#sending = true;
    try {
      const kept = ballotsOf(view, hand, seatToken, Date.now());
      for (const ballot of kept) await this.#outbox.keep(ballot);
      hand.drafts.forEach(dropDraft);
    } finally {
      this.busy = this.#sending = false;
    }
    const [before] = hand.drafts;
    this.hand = null;
    const [next] = this.#next();
    const tray = next && next.tray.id !== before?.trayId;
    this.restEnds = Date.now() + view.session.restSeconds * 1000;
    this.resting = view.session.restSeconds > 0 && tray === true;
    if (!this.resting) await this.#goOn(true);
  }

  async startNextTray(): Promise<void> {
    this.resting = false;
    this.others = [];
    await this.#goOn(true);
  }

  letGo(key: string): void {
    void this.#outbox.letGo(key);
  }

  /** Frees this device for another seat. The seat itself stays as it is, and ballots kept here are still sent. */
  leave(): void {
    this.#arriving.leave();
  }

  /**
   * Whoever has finished hands the tablet to the next person, once the host has every answer. Nothing of this seat stays:
   * the page begins anew before the door of the same tasting.
   */
  async passOn(): Promise<void> {
    const { view } = this;
    const seatToken = this.#seatToken;
    if (!view || !seatToken || this.keptHere.length > 0) return;
    this.#passing = true;
    await this.#attempt(async () => {
      const { token } = await api.passOn(fetchWithTimeout, seatToken);
      this.#leaveSeat();
      this.#arriving.door = 'opening';
      await device.forgetSeat(view.trays.map(({ id }) => id));
      forgetLight();
      this.#passed?.tell(seatToken);
      if (!device.rememberDoor(token)) history.replaceState(history.state, '', `#${token}`);
      location.reload();
    });
    this.#passing = false;
  }

  readonly #onOnline = (): void => {
    this.#outbox.nudge();
    if (this.door === 'no-network') this.retry();
  };

  readonly #onVisible = (): void => {
    if (document.visibilityState !== 'visible') return;
    this.#outbox.nudge();
    if (this.door === 'seated') void this.#line?.look();
  };

  get #inWaves(): boolean {
    return this.view?.session.inWaves ?? false;
  }

  #isOurs(trayId: string): boolean {
    return this.view?.trays.some(({ id }) => id === trayId) ?? false;
  }

  #next(): Asked[] {
    return this.view ? inHand.nextSheets(this.view, this.keptKeys) : [];
  }

  async #attempt(work: () => Promise<void>): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    this.trouble = undefined;
    try {
      await work();
    } catch (reason) {
      this.trouble = reason;
      if (isSeatUnknown(reason)) this.#lose(this.#seatToken);
      if (reason instanceof ApiProblem && reason.name === 'wrong-state') void this.#line?.look();
    } finally {
      this.busy = false;
    }
  }

  async #enter(seatToken: string): Promise<void> {
    const view = await api.getSeat(fetchWithTimeout, seatToken);
    if (this.#seatToken !== seatToken) this.#leaveSeat();
    this.#seatToken = seatToken;
    const trays = view.trays.map(({ id }) => id);
    await this.#outbox.moveTo(seatToken, trays);
    this.#adopt(view);
    this.#arriving.door = 'seated';
    this.#outbox.nudge();
    this.#line ??= new SeatLine({
      seatToken,
      onMessage: (message) => this.#hear(message),
      onView: (fresh) => this.#adopt(fresh),
      onOpen: () => {
        this.#outbox.nudge();
        this.#tell();
      },
      onAway: (away) => (this.away = away),
      onLost: () => this.#lose(seatToken),
    });
  }

  #leaveSeat(): void {
    this.#line?.end();
    this.#line = null;
    this.#seatToken = null;
    this.view = null;
    this.hand = null;
    this.resting = false;
    this.restEnds = null;
    this.others = [];
    this.away = false;
  }

  /** The token opens no seat any more: another tablet has it, or the session is gone. */
  #lose(seatToken: string | null): void {
    if (device.recallSeat() === seatToken) device.rememberSeat(null);
    this.#line?.end();
    this.#line = null;
    this.#arriving.door = 'lost';
    this.#outbox.nudge();
  }

  #hear(message: SeatMessage): void {
    if (message.type === 'seat-lost') return this.#passing ? undefined : this.#lose(this.#seatToken);
    if (!this.view) return;
    const before = this.view.session.state;
    this.view = { ...this.view, session: message.session };
    if (before === message.session.state) return;
    if (message.session.state === 'open') this.said = 'The tasting is open.';
    if (message.session.state === 'closed') this.said = 'The tasting is closed.';
    this.#outbox.nudge();
  }

  #adopt(view: SeatView): void {
    this.view = withKnownReceipts(view, this.view);
    this.#lightOf(view.session);
    const { hand } = this;
    // While sheets are being sent one after the other, answers that stand are those of this tablet.
    if (hand && !this.#sending) {
      const left = inHand.withoutAnswered(this.view, hand);
      for (const { draft, stored } of left.answered) {
        dropDraft(draft);
        this.others = [...this.others, stored];
        this.said = `An answer for ${this.nameOf(draft)} came from another tablet. It stands.`;
      }
      if (left.hand !== hand) this.hand = left.hand;
      if (!left.hand) this.restEnds = null;
    }
    if (!this.hand && !this.resting && !this.#sending) void this.#goOn(false);
  }

  /** Takes the next sheets in hand, or rests before the tray they are on. */
  async #goOn(rested: boolean): Promise<void> {
    if (this.#goingOn) return;
    this.#goingOn = true;
    try {
      const next = this.#next();
      const [first] = next;
      const { view } = this;
      if (!first || !view) return;
      const stored = await keptDrafts(next);
      if (this.view?.seat !== view.seat || !this.#isOurs(first.tray.id)) return;
      const begun = stored.some((kept) => inHand.isBegun(first, kept, this.keptKeys, view.progress));
      if (!rested && first.tray.trayNumber > 1 && !begun) {
        const last = this.keptHere.at(-1);
        this.restEnds ??= last ? last.keptAt + view.session.restSeconds * 1000 : Date.now() + view.restLeftMs;
        this.resting = this.restEnds > Date.now();
        if (this.resting) return;
      }
      this.#hold(
        inHand.take(
          view,
          next.map((asked, index) => {
            const resumed = inHand.resume(asked, stored[index] ?? null, view.progress, newId());
            return inHand.withWait(asked, resumed, Date.now());
          }),
        ),
      );
    } finally {
      this.#goingOn = false;
    }
  }

  #hold(hand: inHand.Hand): void {
    const before = this.hand;
    const [was, draft] = [this.draft, inHand.draftInHand(hand)];
    this.hand = hand;
    void keepChanges(before, hand).catch(() => (this.storageRefused = true));
    const moved =
      draft !== null &&
      (was?.step !== draft.step || was.position !== draft.position || sheetKey(was) !== sheetKey(draft));
    if (moved) this.#tell();
  }

  /** Where this seat is, for the board: never waited for, and no harm when it is lost. */
  #tell(): void {
    if (!this.draft || !this.#seatToken || !this.view?.cautionsConfirmedAt) return;
    if (this.view.session.state !== 'open') return;
    api.tellProgress(fetchWithTimeout, this.#seatToken, inHand.markOf(this.draft)).catch(() => undefined);
  }

  #setReceived(receipt: BallotReceipt): void {
    if (this.view) this.view = withReceipt(this.view, receipt);
  }

  /** The device's own choice wins over the session's. */
  #lightOf(session: { masking: boolean }): void {
    this.light = recallLight() ?? (session.masking ? 'masking' : 'day');
  }
}
