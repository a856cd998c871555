import { getPanel } from '#lib/api/account.ts';
import { orElsewhere } from '#lib/api/page-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => ({
  panel: await orElsewhere(getPanel(fetch, params.panel), url),
});
