import { orElsewhere } from '#lib/api/page-load.ts';
import { getSession } from '#lib/api/session.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => ({
  session: await orElsewhere(getSession(fetch, params.session), url),
});
