import { id } from '@oddglass/shared/contracts/common.ts';
import { vocabularyChangeInput, vocabularyView } from '@oddglass/shared/contracts/vocabulary.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { changeVocabulary, readVocabulary } from './vocabulary.service.ts';

const config = { access: 'signed-in' } as const;
const schema = { params: z.object({ panel: id }), response: { 200: vocabularyView } };

export const vocabularyFeature: Feature = async (app, { deps }) => {
  app.get('/api/panels/:panel/vocabulary', { config, schema }, (request) =>
    readVocabulary(deps, request.actor, request.params.panel),
  );
  app.post(
    '/api/panels/:panel/vocabulary/changes',
    { config, schema: { ...schema, body: vocabularyChangeInput } },
    (request) => changeVocabulary(deps, request.actor, request.params.panel, request.body),
  );
};
