import { id } from '@oddglass/shared/contracts/common.ts';
import { resultDocument } from '@oddglass/shared/contracts/result.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { readAnswersCsv, readFiguresCsv, readResult } from './result.service.ts';

const config = { access: 'signed-in' } as const;
const params = z.object({ session: id });

export const resultFeature: Feature = async (app, { deps }) => {
  app.get(
    '/api/sessions/:session/result',
    { config, schema: { params, response: { 200: resultDocument } } },
    (request) => readResult(deps, request.actor, request.params.session),
  );
  const downloads = { 'result.csv': readAnswersCsv, 'figures.csv': readFiguresCsv };
  for (const [name, read] of Object.entries(downloads)) {
    app.get(
      `/api/sessions/:session/${name}`,
      { config, schema: { params, response: { 200: z.string() }, produces: ['text/csv'] } },
      async (request, reply) => {
        const { title, csv } = await read(deps, request.actor, request.params.session);
        return reply
          .type('text/csv; charset=utf-8')
          .header('content-disposition', `attachment; filename="${fileName(title)}-${name}"`)
          .serializer((text: string) => text)
          .send(csv);
      },
    );
  }
};

/** A title as part of a file name: letters and digits of ASCII, the rest as hyphens. */
function fileName(title: string): string {
  const plain = title.normalize('NFKD').replace(/[^A-Za-z0-9]+/g, '-');
  return plain.replace(/^-+|-+$/g, '').toLowerCase() || 'session';
}
