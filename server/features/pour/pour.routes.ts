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
import { FirstTimes } from './first-times.ts';
import * as service from './pour.service.ts';

const params = z.object({ session: id });
const config = { access: 'signed-in' } as const;

export const pourFeature: Feature = async (app, { deps }) => {
  const readers = new FirstTimes();
  app.get(
    '/api/sessions/:session/pour',
    { config, schema: { params, response: { 200: pourView } } },
    async (request) => {
      const { session } = request.params;
      const view = await service.readPour(deps, request.actor, session);
      // A list that is looked at again and again is told once.
      if (readers.isFirst(`${session} ${request.actor.id}`))
        deps.security.note('key-read', { account: request.actor.name, session });
      return view;
    },
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
