import { vocabularyView, type VocabularyChangeInput } from '@oddglass/shared/contracts/vocabulary.ts';
import { call, type Fetch } from './client.ts';

export const getVocabulary = (fetch: Fetch, panel: string) =>
  call({ fetch, path: `/api/panels/${panel}/vocabulary`, answer: vocabularyView });
export const changeVocabulary = (
  fetch: Fetch,
  panel: string,
  body: { onVersion: number; change: VocabularyChangeInput },
) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/panels/${panel}/vocabulary/changes`,
    answer: vocabularyView,
    body,
  });
