import { panelView } from '@oddglass/shared/contracts/panel.ts';
import type { Feature } from '../../feature.ts';
import { readPanel } from '../panel/panel.service.ts';
import { createDemoPanel } from './demo.service.ts';

export const demoFeature: Feature = async (app, { deps }) => {
  app.post(
    '/api/panels/demo',
    { config: { access: 'signed-in' }, schema: { response: { 200: panelView } } },
    async (request) => readPanel(deps, request.actor, await createDemoPanel(deps, request.actor)),
  );
};
