import { done, id } from '@oddglass/shared/contracts/common.ts';
import {
  dilutionCheckInput,
  dilutionInput,
  pourTickAnswer,
  pourTickInput,
  pourView,
  servingConditions,
} from '@oddglass/shared/contracts/pour.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import * as dilution from './dilution.service.ts';
import * as service from './pour.service.ts';

const params = z.object({ session: id });
const config = { access: 'signed-in' } as const;

export const pourFeature: Feature = async (app, { deps }) => {
  app.get(
    '/api/sessions/:session/pour',
    { config, schema: { params, response: { 200: pourView } } },
    (request) => service.readPour(deps, request.actor, request.params.session),
  );
  app.post(
    '/api/sessions/:session/pour/ticks',
    { config, schema: { params, body: pourTickInput, response: { 200: pourTickAnswer } } },
    (request) => service.tickCups(deps, request.actor, request.params.session, request.body),
  );
  app.post(
    '/api/sessions/:session/pour/conditions',
    { config, schema: { params, body: servingConditions, response: { 200: pourView } } },
    (request) => service.noteServing(deps, request.actor, request.params.session, request.body),
  );
  app.post(
    '/api/sessions/:session/pour/dilutions',
    { config, schema: { params, body: dilutionInput, response: { 200: done } } },
    (request) => dilution.noteDilution(deps, request.actor, request.params.session, request.body),
  );
  app.post(
    '/api/sessions/:session/pour/dilutions/check',
    { config, schema: { params, body: dilutionCheckInput, response: { 200: done } } },
    (request) => dilution.checkDilution(deps, request.actor, request.params.session, request.body),
  );
};
