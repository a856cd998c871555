import {
  trialView,
  type ArmChange,
  type ArmInput,
  type TrialChange,
  type TrialInput,
} from '@oddglass/shared/contracts/trial.ts';
import { type DeviationInput } from '@oddglass/shared/contracts/deviation.ts';
import type { SafetyFacts } from '@oddglass/shared/contracts/safety.ts';
import type { FairTestAnswerInput } from '@oddglass/shared/contracts/fair-test.ts';
import type { LiquidInput } from '@oddglass/shared/contracts/liquid.ts';
import { call, type Fetch } from './client.ts';

export const createTrial = (fetch: Fetch, panel: string, body: TrialInput) =>
  call({ fetch, method: 'POST', path: `/api/panels/${panel}/trials`, answer: trialView, body });
export const getTrial = (fetch: Fetch, trial: string) =>
  call({ fetch, path: `/api/trials/${trial}`, answer: trialView });
export const changeTrial = (fetch: Fetch, trial: string, body: TrialChange) =>
  call({ fetch, method: 'PATCH', path: `/api/trials/${trial}`, answer: trialView, body });
export const addArm = (fetch: Fetch, trial: string, body: ArmInput) =>
  call({ fetch, method: 'POST', path: `/api/trials/${trial}/arms`, answer: trialView, body });
export const answerFinding = (fetch: Fetch, trial: string, body: FairTestAnswerInput) =>
  call({ fetch, method: 'POST', path: `/api/trials/${trial}/fair-test`, answer: trialView, body });
export const changeLiquid = (fetch: Fetch, trial: string, arm: string, body: LiquidInput) =>
  call({ fetch, method: 'POST', path: `/api/trials/${trial}/arms/${arm}/liquid`, answer: trialView, body });
export const changeArm = (fetch: Fetch, trial: string, arm: string, body: ArmChange) =>
  call({ fetch, method: 'PATCH', path: `/api/trials/${trial}/arms/${arm}`, answer: trialView, body });
export const noteDeviation = (fetch: Fetch, trial: string, arm: string, body: DeviationInput) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/trials/${trial}/arms/${arm}/deviations`,
    answer: trialView,
    body,
  });
export const noteSafety = (fetch: Fetch, trial: string, arm: string, body: SafetyFacts) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/trials/${trial}/arms/${arm}/safety`,
    answer: trialView,
    body,
  });
