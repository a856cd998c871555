import { done, id } from '@oddglass/shared/contracts/common.ts';
import { panelInput, panelView } from '@oddglass/shared/contracts/panel.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { removeMember } from './member.service.ts';
import * as service from './panel.service.ts';

const params = z.object({ panel: id });

export const panelFeature: Feature = async (app, { deps }) => {
  app.post(
    '/api/panels',
    { config: { access: 'signed-in' }, schema: { body: panelInput, response: { 200: panelView } } },
    (request) => service.createPanel(deps, request.actor, request.body),
  );
  app.get(
    '/api/panels/:panel',
    { config: { access: 'signed-in' }, schema: { params, response: { 200: panelView } } },
    (request) => service.readPanel(deps, request.actor, request.params.panel),
  );
  app.delete(
    '/api/panels/:panel/members/:member',
    {
      config: { access: 'signed-in' },
      schema: { params: params.extend({ member: id }), response: { 200: done } },
    },
    async ({ actor, params: { panel, member } }) => {
      await removeMember(deps, actor, panel, member);
      return { ok: true as const };
    },
  );
};
