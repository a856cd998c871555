import { done } from '@oddglass/shared/contracts/common.ts';
import {
  deskBallot,
  deskOffer,
  deskOpened,
  deskView,
  paperPrint,
  paperReceipt,
  type EntryInput,
  type OpenDeskInput,
  type SetAsideInput,
} from '@oddglass/shared/contracts/paper.ts';
import { call, type Fetch } from './client.ts';

/** Ballots of the seats from one number to another; of the expected seats where none are named. */
export const getPrint = (fetch: Fetch, session: string, asked: PaperAsked = {}) =>
  call({ fetch, path: `/api/sessions/${session}/paper${query(asked)}`, answer: paperPrint });

/** Seats from one number to another, and whether a list of all words goes with them. */
export interface PaperAsked {
  from?: number;
  to?: number;
  words?: 'yes';
}

function query(asked: PaperAsked): string {
  const named = Object.entries(asked).map(([name, value]) => `${name}=${value}`);
  return named.length === 0 ? '' : `?${named.join('&')}`;
}

/** Seats get their ballots on paper, or are free again. */
export const setAside = (fetch: Fetch, session: string, body: SetAsideInput) =>
  call({ fetch, method: 'POST', path: `/api/sessions/${session}/paper/seats`, answer: done, body });
export const offerDesk = (fetch: Fetch, session: string) =>
  call({ fetch, method: 'POST', path: `/api/sessions/${session}/paper/desk`, answer: deskOffer, body: {} });
export const openDesk = (fetch: Fetch, body: OpenDeskInput) =>
  call({ fetch, method: 'POST', path: '/api/desk/open', answer: deskOpened, body });
export const getDesk = (fetch: Fetch, deskToken: string) =>
  call({ fetch, path: '/api/desk', answer: deskView, seatToken: deskToken });
export const getBallot = (fetch: Fetch, deskToken: string, seat: number) =>
  call({ fetch, path: `/api/desk/ballots/${seat}`, answer: deskBallot, seatToken: deskToken });
/** Sends an entry; the same entry again changes nothing. */
export const sendEntry = (fetch: Fetch, deskToken: string, seat: number, body: EntryInput) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/desk/ballots/${seat}/entries`,
    answer: deskBallot,
    body,
    seatToken: deskToken,
  });
/** A receipt for the slip of a ballot on paper. */
export const receiptBySlip = (fetch: Fetch, body: { ballot: string; digits: string; fingerprint: string }) =>
  call({ fetch, method: 'POST', path: '/api/receipt/slip', answer: paperReceipt, body });
