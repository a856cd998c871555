import { calendarDrawn, calendarView } from '@oddglass/shared/contracts/calendar.ts';
import { id, token } from '@oddglass/shared/contracts/common.ts';
import { z } from 'zod';
import { originOf } from '../../access/origin.ts';
import type { Feature } from '../../feature.ts';
import { calendarText, drawCalendar, endCalendar, readCalendar } from './calendar.service.ts';

const config = { access: 'signed-in' } as const;
const params = z.object({ panel: id });

/** Planned pulls in people's own calendars, which have no cookie: the address itself is the secret. */
export const calendarFeature: Feature = async (app, { deps, publicUrl }) => {
  app.get(
    '/api/panels/:panel/calendar',
    { config, schema: { params, response: { 200: calendarView } } },
    (request) => readCalendar(deps, request.actor, request.params.panel),
  );
  app.post(
    '/api/panels/:panel/calendar',
    { config, schema: { params, response: { 200: calendarDrawn } } },
    (request) => drawCalendar(deps, request.actor, request.params.panel),
  );
  app.delete(
    '/api/panels/:panel/calendar',
    { config, schema: { params, response: { 200: calendarView } } },
    (request) => endCalendar(deps, request.actor, request.params.panel),
  );
  app.get(
    '/api/calendar/:token/pulls.ics',
    {
      config: { access: 'public' },
      // The address is the secret: a line of the log for each request would keep it.
      logLevel: 'warn',
      schema: {
        params: z.object({ token }),
        response: { 200: z.string() },
        produces: ['text/calendar'],
      },
    },
    async (request, reply) => {
      const text = await calendarText(deps, request.params.token, originOf(request, publicUrl));
      return reply
        .type('text/calendar; charset=utf-8')
        .header('cache-control', 'no-store')
        .header('x-robots-tag', 'noindex')
        .serializer((calendar: string) => calendar)
        .send(text);
    },
  );
};
