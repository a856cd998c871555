import { rehearsalView, type RehearsalInput } from '@oddglass/shared/contracts/rehearsal.ts';
import { sessionView } from '@oddglass/shared/contracts/session.ts';
import { call, type Fetch } from './client.ts';

export const makeRehearsal = (fetch: Fetch, session: string, body: RehearsalInput) =>
  call({ fetch, method: 'POST', path: `/api/sessions/${session}/rehearsal`, answer: sessionView, body });
export const getRehearsal = (fetch: Fetch, session: string) =>
  call({ fetch, path: `/api/sessions/${session}/rehearsal`, answer: rehearsalView });
export const playRehearsal = (fetch: Fetch, session: string, what: 'play' | 'stop') =>
  call({
    fetch,
    method: 'POST',
    path: `/api/sessions/${session}/rehearsal/${what}`,
    answer: rehearsalView,
    body: {},
  });
