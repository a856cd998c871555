import { ballotReceipt, type BallotInput } from '@oddglass/shared/contracts/ballot.ts';
import { receiptIssued, receiptView } from '@oddglass/shared/contracts/receipt.ts';
import { done } from '@oddglass/shared/contracts/common.ts';
import {
  joinOffer,
  seatTaken,
  seatView,
  type Consent,
  type JoinInput,
  type Progress,
  type TakeSeatInput,
} from '@oddglass/shared/contracts/seat.ts';
import { call, type Fetch } from './client.ts';

export const join = (fetch: Fetch, body: JoinInput) =>
  call({ fetch, method: 'POST', path: '/api/join', answer: joinOffer, body });
export const takeSeat = (fetch: Fetch, body: TakeSeatInput) =>
  call({ fetch, method: 'POST', path: '/api/join/seat', answer: seatTaken, body });
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
/** The private way to one's own answers; asking again gives the same. */
export const askReceipt = (fetch: Fetch, seatToken: string) =>
  call({ fetch, method: 'POST', path: '/api/seat/receipt', answer: receiptIssued, body: {}, seatToken });
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
