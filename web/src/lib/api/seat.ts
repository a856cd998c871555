import { ballotReceipt, type BallotInput } from '@oddglass/shared/contracts/ballot.ts';
import { receiptView, type ReceiptMade } from '@oddglass/shared/contracts/receipt.ts';
import { done } from '@oddglass/shared/contracts/common.ts';
import {
  joinOffer,
  passedOn,
  seatTaken,
  seatView,
  type Consent,
  type JoinInput,
  type MoveInput,
  type Progress,
  type TakeSeatInput,
} from '@oddglass/shared/contracts/seat.ts';
import { moveOffer } from '@oddglass/shared/contracts/session.ts';
import { call, type Fetch } from './client.ts';

export const join = (fetch: Fetch, body: JoinInput) =>
  call({ fetch, method: 'POST', path: '/api/join', answer: joinOffer, body });
export const takeSeat = (fetch: Fetch, body: TakeSeatInput) =>
  call({ fetch, method: 'POST', path: '/api/join/seat', answer: seatTaken, body });
/** By the way that was left for another tablet. */
export const moveHere = (fetch: Fetch, body: MoveInput) =>
  call({ fetch, method: 'POST', path: '/api/join/move', answer: seatTaken, body });
/** A way for another tablet, made at the seat itself. */
export const offerMove = (fetch: Fetch, seatToken: string) =>
  call({ fetch, method: 'POST', path: '/api/seat/move', answer: moveOffer, body: {}, seatToken });
/** The person has finished, and hands the tablet to the next one. */
export const passOn = (fetch: Fetch, seatToken: string) =>
  call({ fetch, method: 'POST', path: '/api/seat/pass-on', answer: passedOn, body: {}, seatToken });
export const getSeat = (fetch: Fetch, seatToken: string) =>
  call({ fetch, path: '/api/seat', answer: seatView, seatToken });
export const confirmCautions = (fetch: Fetch, seatToken: string) =>
  call({ fetch, method: 'POST', path: '/api/seat/cautions', answer: seatView, body: {}, seatToken });
export const tellProgress = (fetch: Fetch, seatToken: string, body: Progress) =>
  call({ fetch, method: 'POST', path: '/api/seat/progress', answer: done, body, seatToken });
/** Sends a ballot; the same ballot again gets the first answer. */
export const sendBallot = (fetch: Fetch, seatToken: string, body: BallotInput) =>
  call({ fetch, method: 'POST', path: '/api/seat/ballots', answer: ballotReceipt, body, seatToken });
/** What the assessor agrees to; may be said anew until the session closes. */
export const tellConsent = (fetch: Fetch, seatToken: string, body: Consent) =>
  call({ fetch, method: 'POST', path: '/api/seat/consent', answer: seatView, body, seatToken });
/** Tells the server of the receipt that was made here; telling it again is no harm. */
export const tellReceipt = (fetch: Fetch, seatToken: string, body: ReceiptMade) =>
  call({ fetch, method: 'POST', path: '/api/seat/receipt', answer: done, body, seatToken });
export const getReceipt = (fetch: Fetch, receiptToken: string) =>
  call({ fetch, path: '/api/receipt', answer: receiptView, seatToken: receiptToken });
/** Takes the answers back, for good. */
export const withdrawAnswers = (fetch: Fetch, receiptToken: string) =>
  call({
    fetch,
    method: 'POST',
    path: '/api/receipt/withdraw',
    answer: receiptView,
    body: {},
    seatToken: receiptToken,
  });
