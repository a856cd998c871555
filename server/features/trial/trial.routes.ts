import { id } from '@oddglass/shared/contracts/common.ts';
import { armChange, armInput, trialChange, trialInput, trialView } from '@oddglass/shared/contracts/trial.ts';
import { safetyFacts } from '@oddglass/shared/contracts/safety.ts';
import { fairTestAnswerInput } from '@oddglass/shared/contracts/fair-test.ts';
import { liquidInput } from '@oddglass/shared/contracts/liquid.ts';
import { deviationInput } from '@oddglass/shared/contracts/deviation.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { noteSafety } from './safety.service.ts';
import * as service from './trial.service.ts';

const trialParams = z.object({ trial: id });
const armParams = z.object({ trial: id, arm: id });

export const trialFeature: Feature = async (app, { deps }) => {
  app.post(
    '/api/panels/:panel/trials',
    {
      config: { access: 'signed-in' },
      schema: { params: z.object({ panel: id }), body: trialInput, response: { 200: trialView } },
    },
    (request) => service.createTrial(deps, request.actor, request.params.panel, request.body),
  );
  app.get(
    '/api/trials/:trial',
    { config: { access: 'signed-in' }, schema: { params: trialParams, response: { 200: trialView } } },
    (request) => service.readTrial(deps, request.actor, request.params.trial),
  );
  app.patch(
    '/api/trials/:trial',
    {
      config: { access: 'signed-in' },
      schema: { params: trialParams, body: trialChange, response: { 200: trialView } },
    },
    (request) => service.changeTrial(deps, request.actor, request.params.trial, request.body),
  );
  app.post(
    '/api/trials/:trial/arms',
    {
      config: { access: 'signed-in' },
      schema: { params: trialParams, body: armInput, response: { 200: trialView } },
    },
    (request) => service.addArm(deps, request.actor, request.params.trial, request.body),
  );
  app.post(
    '/api/trials/:trial/fair-test',
    {
      config: { access: 'signed-in' },
      schema: { params: trialParams, body: fairTestAnswerInput, response: { 200: trialView } },
    },
    (request) => service.answerFinding(deps, request.actor, request.params.trial, request.body),
  );
  app.post(
    '/api/trials/:trial/arms/:arm/liquid',
    {
      config: { access: 'signed-in' },
      schema: { params: armParams, body: liquidInput, response: { 200: trialView } },
    },
    (request) =>
      service.changeLiquid(deps, request.actor, request.params.trial, request.params.arm, request.body),
  );
  app.patch(
    '/api/trials/:trial/arms/:arm',
    {
      config: { access: 'signed-in' },
      schema: { params: armParams, body: armChange, response: { 200: trialView } },
    },
    (request) =>
      service.changeArm(deps, request.actor, request.params.trial, request.params.arm, request.body),
  );
  app.post(
    '/api/trials/:trial/arms/:arm/deviations',
    {
      config: { access: 'signed-in' },
      schema: { params: armParams, body: deviationInput, response: { 200: trialView } },
    },
    (request) =>
      service.noteDeviation(deps, request.actor, request.params.trial, request.params.arm, request.body),
  );
  app.post(
    '/api/trials/:trial/arms/:arm/safety',
    {
      config: { access: 'signed-in' },
      schema: { params: armParams, body: safetyFacts, response: { 200: trialView } },
    },
    (request) => noteSafety(deps, request.actor, request.params.trial, request.params.arm, request.body),
  );
};
