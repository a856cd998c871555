import {
  soloList,
  soloView,
  type SoloAnswerInput,
  type SoloInput,
  type SoloStoodInput,
} from '@oddglass/shared/contracts/solo.ts';
import { call, type Fetch } from './client.ts';

export const listSolo = (fetch: Fetch, trial: string) =>
  call({ fetch, path: `/api/trials/${trial}/solo`, answer: soloList });
export const sealSolo = (fetch: Fetch, trial: string, body: SoloInput) =>
  call({ fetch, method: 'POST', path: `/api/trials/${trial}/solo`, answer: soloView, body });
export const getSolo = (fetch: Fetch, solo: string) =>
  call({ fetch, path: `/api/solo/${solo}`, answer: soloView });
export const confirmSoloCautions = (fetch: Fetch, solo: string) =>
  call({ fetch, method: 'POST', path: `/api/solo/${solo}/cautions`, answer: soloView });
export const lockSoloAnswer = (fetch: Fetch, solo: string, body: SoloAnswerInput) =>
  call({ fetch, method: 'POST', path: `/api/solo/${solo}/answers`, answer: soloView, body });
export const endSolo = (fetch: Fetch, solo: string) =>
  call({ fetch, method: 'POST', path: `/api/solo/${solo}/end`, answer: soloView, body: {} });
export const noteSoloStood = (fetch: Fetch, solo: string, body: SoloStoodInput) =>
  call({ fetch, method: 'POST', path: `/api/solo/${solo}/stood`, answer: soloView, body });
