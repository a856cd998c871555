import { done } from '@oddglass/shared/contracts/common.ts';
import {
  pourTickAnswer,
  pourView,
  type DilutionCheckInput,
  type DilutionInput,
  type PourTickInput,
  type ServingConditions,
} from '@oddglass/shared/contracts/pour.ts';
import { resultDocument } from '@oddglass/shared/contracts/result.ts';
import { sealView } from '@oddglass/shared/contracts/seal.ts';
import {
  moveOffer,
  sessionView,
  type OpenInput,
  type SessionSettings,
} from '@oddglass/shared/contracts/session.ts';
import type { CallWaveInput } from '@oddglass/shared/contracts/waves.ts';
import { board } from '@oddglass/shared/contracts/board.ts';
import { vocabularyView } from '@oddglass/shared/contracts/vocabulary.ts';
import { call, type Fetch } from './client.ts';

export const createSession = (fetch: Fetch, trial: string, body: SessionSettings) =>
  call({ fetch, method: 'POST', path: `/api/trials/${trial}/sessions`, answer: sessionView, body });
export const getSession = (fetch: Fetch, session: string) =>
  call({ fetch, path: `/api/sessions/${session}`, answer: sessionView });
export const changeSession = (fetch: Fetch, session: string, body: SessionSettings) =>
  call({ fetch, method: 'PUT', path: `/api/sessions/${session}`, answer: sessionView, body });
export const removeSession = (fetch: Fetch, session: string) =>
  call({ fetch, method: 'DELETE', path: `/api/sessions/${session}`, answer: done });
/** seal, open, close, reveal, take-key, rotate-code */
export const actOnSession = (
  fetch: Fetch,
  session: string,
  action: 'seal' | 'open' | 'close' | 'reveal' | 'take-key' | 'join-code',
  body: Partial<OpenInput> = {},
) => call({ fetch, method: 'POST', path: `/api/sessions/${session}/${action}`, answer: sessionView, body });
export const callWave = (fetch: Fetch, session: string, body: CallWaveInput) =>
  call({ fetch, method: 'POST', path: `/api/sessions/${session}/call-wave`, answer: sessionView, body });
export const handOverSeat = (fetch: Fetch, session: string, seat: number) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/sessions/${session}/seats/${seat}/hand-over`,
    answer: moveOffer,
    body: {},
  });
export const freeSeat = (fetch: Fetch, session: string, seat: number) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/sessions/${session}/seats/${seat}/free`,
    answer: done,
    body: {},
  });
export const getBoard = (fetch: Fetch, session: string) =>
  call({ fetch, path: `/api/sessions/${session}/board`, answer: board });
export const getPour = (fetch: Fetch, session: string) =>
  call({ fetch, path: `/api/sessions/${session}/pour`, answer: pourView });
export const tickCups = (fetch: Fetch, session: string, body: PourTickInput) =>
  call({ fetch, method: 'POST', path: `/api/sessions/${session}/pour/ticks`, answer: pourTickAnswer, body });
export const noteServing = (fetch: Fetch, session: string, body: ServingConditions) =>
  call({ fetch, method: 'POST', path: `/api/sessions/${session}/pour/conditions`, answer: pourView, body });
export const noteDilution = (fetch: Fetch, session: string, body: DilutionInput) =>
  call({ fetch, method: 'POST', path: `/api/sessions/${session}/pour/dilutions`, answer: done, body });
export const checkDilution = (fetch: Fetch, session: string, body: DilutionCheckInput) =>
  call({ fetch, method: 'POST', path: `/api/sessions/${session}/pour/dilutions/check`, answer: done, body });
export const getResult = (fetch: Fetch, session: string) =>
  call({ fetch, path: `/api/sessions/${session}/result`, answer: resultDocument });
export const getSeal = (fetch: Fetch, session: string) =>
  call({ fetch, path: `/api/sessions/${session}/seal`, answer: sealView });
/** The words a panel can offer in a description. */
export const getWordsToOffer = (fetch: Fetch, panel: string) =>
  call({ fetch, path: `/api/panels/${panel}/vocabulary`, answer: vocabularyView });
