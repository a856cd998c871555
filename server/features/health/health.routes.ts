import { anyAccount } from '@oddglass/db/queries/account.ts';
import { serverState } from '@oddglass/shared/contracts/account.ts';
import type { Feature } from '../../feature.ts';

export const healthFeature: Feature = async (app, { deps }) => {
  app.get(
    '/api/health',
    { config: { access: 'public' }, schema: { response: { 200: serverState } } },
    async () => ({ ok: true as const, setUp: await anyAccount(deps.db), version: '0.1.0' }),
  );
};
