import { id } from '@oddglass/shared/contracts/common.ts';
import {
  soloAnswerInput,
  soloEnd,
  soloInput,
  soloList,
  soloStoodInput,
  soloView,
} from '@oddglass/shared/contracts/solo.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import * as service from './solo.service.ts';

const config = { access: 'signed-in' } as const;
const ofTrial = z.object({ trial: id });
const ofSeries = z.object({ solo: id });
const view = { 200: soloView };

/** Tasting alone: series that are sealed, answered, and turned over, in this order. */
export const soloFeature: Feature = async (app, { deps }) => {
  app.get(
    '/api/trials/:trial/solo',
    { config, schema: { params: ofTrial, response: { 200: soloList } } },
    ({ actor, params }) => service.listSolo(deps, actor, params.trial),
  );
  app.post(
    '/api/trials/:trial/solo',
    { config, schema: { params: ofTrial, body: soloInput, response: view } },
    ({ actor, params, body }) => service.sealSolo(deps, actor, params.trial, body),
  );
  app.get('/api/solo/:solo', { config, schema: { params: ofSeries, response: view } }, ({ actor, params }) =>
    service.readSolo(deps, actor, params.solo),
  );
  app.post(
    '/api/solo/:solo/cautions',
    { config, schema: { params: ofSeries, response: view } },
    ({ actor, params }) => service.confirmCautions(deps, actor, params.solo),
  );
  app.post(
    '/api/solo/:solo/answers',
    { config, schema: { params: ofSeries, body: soloAnswerInput, response: view } },
    ({ actor, params, body }) => service.lockAnswer(deps, actor, params.solo, body),
  );
  app.post(
    '/api/solo/:solo/end',
    { config, schema: { params: ofSeries, body: soloEnd, response: view } },
    ({ actor, params, body }) => service.endSolo(deps, actor, params.solo, body),
  );
  app.post(
    '/api/solo/:solo/stood',
    { config, schema: { params: ofSeries, body: soloStoodInput, response: view } },
    ({ actor, params, body }) => service.noteStood(deps, actor, params.solo, body),
  );
};
