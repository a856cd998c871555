import { createStore, del, delMany, get, keys, set, values, type UseStore } from 'idb-keyval';
import { draft, type Draft } from '#lib/seat/tray/draft.ts';
import { keptBallot, type BallotStore } from './outbox.ts';
import { sheetKey, type SheetPlace } from '#lib/seat/tray/sheets.ts';

let ballots: UseStore | undefined;
let drafts: UseStore | undefined;
// Opened on first use: a browser that refuses storage throws, and the caller says so on the screen.
// Two databases, since idb-keyval gives each database one store.
const ballotStore = () => (ballots ??= createStore('oddglass-ballots', 'ballots'));
const draftStore = () => (drafts ??= createStore('oddglass-drafts', 'drafts'));

/** Unsent ballots in IndexedDB, one for each sheet. What an older or foreign version wrote is left alone. */
export const deviceBallots: BallotStore = {
  async read() {
    const found = await values<unknown>(ballotStore());
    return found.flatMap((value) => {
      const read = keptBallot.safeParse(value);
      return read.success ? [read.data] : [];
    });
  },
  async write(kept) {
    await set(sheetKey(kept.ballot), kept, ballotStore());
  },
  async remove(key) {
    await del(key, ballotStore());
  },
};

export async function readDraft(place: SheetPlace): Promise<Draft | null> {
  const read = draft.safeParse(await get<unknown>(sheetKey(place), draftStore()));
  return read.success ? read.data : null;
}
// Opening a store can throw at once; async makes that a rejection like any other.
export async function writeDraft(value: Draft): Promise<void> {
  await set(sheetKey(value), value, draftStore());
}
export async function removeDraft(place: SheetPlace): Promise<void> {
  await del(sheetKey(place), draftStore());
}

const SEAT = 'oddglass.seat';

export const recall = (key: string): string | null => {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
};
/** False when the browser refuses to store. */
export const remember = (key: string, value: string | null): boolean => {
  try {
    if (value === null) localStorage.removeItem(key);
    else localStorage.setItem(key, value);
    return true;
  } catch {
    return false;
  }
};

export const recallSeat = (): string | null => recall(SEAT);
export const rememberSeat = (seatToken: string | null): boolean => remember(SEAT, seatToken);

const RECEIPT = 'oddglass.receipt';
// For a browser that keeps nothing: as long as the page is open.
let receiptInMind: string | null = null;

/** The receipt that was made here for this seat; one of another seat is not told. */
export function recallReceipt(seatToken: string): string | null {
  const [seat, receipt] = (recall(RECEIPT) ?? receiptInMind ?? '').split(' ');
  return seat === seatToken && receipt ? receipt : null;
}
export function rememberReceipt(seatToken: string, receiptToken: string): void {
  receiptInMind = `${seatToken} ${receiptToken}`;
  remember(RECEIPT, receiptInMind);
}
/** Whoever sits here next does not find it. */
export function forgetReceipt(): void {
  receiptInMind = null;
  remember(RECEIPT, null);
}

/** Nothing of the seat with these trays stays on this device: not what it is known by, no answer and no draft. */
export async function forgetSeat(trayIds: readonly string[]): Promise<void> {
  rememberSeat(null);
  forgetReceipt();
  // Keys are those of `sheetKey`, which begins with the tray.
  const ofSeat = (key: IDBValidKey): boolean => trayIds.some((id) => String(key).startsWith(`${id} `));
  try {
    for (const store of [ballotStore(), draftStore()])
      await delMany((await keys(store)).filter(ofSeat), store);
  } catch {
    // A browser that stores nothing has nothing to forget.
  }
}

const DOOR = 'oddglass.door';

/** The tasting whose door a tablet that was handed on stands before: the token of its QR, and nothing of anybody. */
export const recallDoor = (): string | null => recall(DOOR);
export const rememberDoor = (joinToken: string | null): boolean => remember(DOOR, joinToken);

/** Does this browser keep anything? Tried with a real write, since private modes refuse only then. */
export async function deviceKeeps(): Promise<boolean> {
  const mark = 'oddglass.probe';
  if (!remember(mark, '1') || !remember(mark, null)) return false;
  try {
    await set('probe', true, draftStore());
    await del('probe', draftStore());
    return true;
  } catch {
    return false;
  }
}
