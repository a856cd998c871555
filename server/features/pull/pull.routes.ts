import { id } from '@oddglass/shared/contracts/common.ts';
import {
  panelPulls,
  pitchedInput,
  pullChange,
  pullsInput,
  trialPulls,
} from '@oddglass/shared/contracts/pull.ts';
import { readingInput, readingView } from '@oddglass/shared/contracts/reading.ts';
import { csvImport, csvImported } from '@oddglass/shared/contracts/reading-import.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { importCsv, writeCsv } from './import.service.ts';
import * as service from './pull.service.ts';
import { noteReading } from './reading.service.ts';

const config = { access: 'signed-in' } as const;
const ofTrial = z.object({ trial: id });
const ofPull = z.object({ pull: id });
const pulls = { 200: trialPulls };
// Letters outside of ASCII take up to four bytes, and JSON escapes some.
const CSV_BODY = 2 * 1024 * 1024;

/** The notebook of a trial: pulls planned and taken, readings of arms, and both as CSV. */
export const pullFeature: Feature = async (app, { deps }) => {
  app.get(
    '/api/trials/:trial/pulls',
    { config, schema: { params: ofTrial, response: pulls } },
    ({ actor, params }) => service.readPulls(deps, actor, params.trial),
  );
  app.get(
    '/api/panels/:panel/pulls',
    { config, schema: { params: z.object({ panel: id }), response: { 200: panelPulls } } },
    ({ actor, params }) => service.readPanelPulls(deps, actor, params.panel),
  );
  app.put(
    '/api/trials/:trial/pitched',
    { config, schema: { params: ofTrial, body: pitchedInput, response: pulls } },
    ({ actor, params, body }) => service.notePitched(deps, actor, params.trial, body.pitchedAt),
  );
  app.post(
    '/api/trials/:trial/pulls',
    { config, schema: { params: ofTrial, body: pullsInput, response: pulls } },
    ({ actor, params, body }) => service.planPulls(deps, actor, params.trial, body.pulls),
  );
  app.patch(
    '/api/pulls/:pull',
    { config, schema: { params: ofPull, body: pullChange, response: pulls } },
    ({ actor, params, body }) => service.changePull(deps, actor, params.pull, body),
  );
  app.post(
    '/api/pulls/:pull/cancel',
    { config, schema: { params: ofPull, response: pulls } },
    ({ actor, params }) => service.cancelPull(deps, actor, params.pull),
  );
  app.post(
    '/api/pulls/:pull/arms/:arm/readings',
    {
      config,
      schema: { params: ofPull.extend({ arm: id }), body: readingInput, response: { 200: readingView } },
    },
    ({ actor, params, body }) => noteReading(deps, actor, { pullId: params.pull, armId: params.arm }, body),
  );
  app.post(
    '/api/trials/:trial/readings/import',
    {
      config,
      bodyLimit: CSV_BODY,
      schema: { params: ofTrial, body: csvImport, response: { 200: csvImported } },
    },
    ({ actor, params, body }) => importCsv(deps, actor, params.trial, body),
  );
  app.get(
    '/api/trials/:trial/readings.csv',
    { config, schema: { params: ofTrial, response: { 200: z.string() }, produces: ['text/csv'] } },
    async ({ actor, params }, reply) => {
      const { title, csv } = await writeCsv(deps, actor, params.trial);
      const plain = title.normalize('NFKD').replace(/[^A-Za-z0-9]+/g, '-');
      const file = plain.replace(/^-+|-+$/g, '').toLowerCase() || 'trial';
      return reply
        .type('text/csv; charset=utf-8')
        .header('content-disposition', `attachment; filename="${file}-readings.csv"`)
        .serializer((text: string) => text)
        .send(csv);
    },
  );
};
