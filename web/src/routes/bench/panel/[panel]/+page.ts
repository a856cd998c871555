import { getPanel } from '#lib/api/account.ts';
import { orElsewhere } from '#lib/api/page-load.ts';
import { getPanelPulls } from '#lib/api/pull.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => {
  const [panel, pulls] = await Promise.all([
    orElsewhere(getPanel(fetch, params.panel), url),
    // What is due is beside the rest: a panel can be read without it.
    getPanelPulls(fetch, params.panel).then(
      (due) => due.pulls,
      () => null,
    ),
  ]);
  return { panel, pulls, now: new Date().toISOString() };
};
