import { calendarDrawn, calendarView } from '@oddglass/shared/contracts/calendar.ts';
import { problemDocument } from '@oddglass/shared/contracts/problem.ts';
import { panelPulls, trialPulls, type PullChange, type PullInput } from '@oddglass/shared/contracts/pull.ts';
import { readingView, type ReadingInput } from '@oddglass/shared/contracts/reading.ts';
import { csvImported, type CsvImport } from '@oddglass/shared/contracts/reading-import.ts';
import { ApiProblem, call, NoAnswer, type Fetch } from './client.ts';

export const getPulls = (fetch: Fetch, trial: string) =>
  call({ fetch, path: `/api/trials/${trial}/pulls`, answer: trialPulls });
export const getPanelPulls = (fetch: Fetch, panel: string) =>
  call({ fetch, path: `/api/panels/${panel}/pulls`, answer: panelPulls });
export const planPulls = (fetch: Fetch, trial: string, pulls: PullInput[]) =>
  call({ fetch, method: 'POST', path: `/api/trials/${trial}/pulls`, answer: trialPulls, body: { pulls } });
export const notePitched = (fetch: Fetch, trial: string, pitchedAt: string | null) =>
  call({
    fetch,
    method: 'PUT',
    path: `/api/trials/${trial}/pitched`,
    answer: trialPulls,
    body: { pitchedAt },
  });
export const changePull = (fetch: Fetch, pull: string, body: PullChange) =>
  call({ fetch, method: 'PATCH', path: `/api/pulls/${pull}`, answer: trialPulls, body });
export const cancelPull = (fetch: Fetch, pull: string) =>
  call({ fetch, method: 'POST', path: `/api/pulls/${pull}/cancel`, answer: trialPulls, body: {} });
export const sendReading = (fetch: Fetch, pull: string, arm: string, body: ReadingInput) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/pulls/${pull}/arms/${arm}/readings`,
    answer: readingView,
    body,
  });
export const importCsv = (fetch: Fetch, trial: string, body: CsvImport) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/trials/${trial}/readings/import`,
    answer: csvImported,
    body,
  });
export const getCalendar = (fetch: Fetch, panel: string) =>
  call({ fetch, path: `/api/panels/${panel}/calendar`, answer: calendarView });
export const drawCalendar = (fetch: Fetch, panel: string) =>
  call({ fetch, method: 'POST', path: `/api/panels/${panel}/calendar`, answer: calendarDrawn, body: {} });
export const endCalendar = (fetch: Fetch, panel: string) =>
  call({ fetch, method: 'DELETE', path: `/api/panels/${panel}/calendar`, answer: calendarView });

/** The one body that is no JSON: a photo, under the id that this device made for it. */
export async function sendPhoto(
  fetch: Fetch,
  place: { pull: string; arm: string; photo: string },
  jpeg: Blob,
) {
  let response: Response;
  let content: unknown;
  try {
    response = await fetch(`/api/pulls/${place.pull}/arms/${place.arm}/photos/${place.photo}`, {
      method: 'PUT',
      headers: { 'content-type': 'image/jpeg', accept: 'application/json' },
      body: jpeg,
    });
    content = await response.json();
  } catch (cause) {
    throw new NoAnswer('The server did not answer.', { cause });
  }
  if (response.ok) return trialPulls.parse(content);
  const problem = problemDocument.safeParse(content);
  if (!problem.success) throw new NoAnswer(`The server answered ${response.status} without a reason.`);
  throw new ApiProblem(problem.data);
}
