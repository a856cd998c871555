import { z } from 'zod';

const place = z.object({ id: z.string(), name: z.string() });
export type PanelHere = z.infer<typeof place>;

// Pages load different things; whichever of them says its panel names it in the header.
const within = z.object({ panelId: z.string(), panelName: z.string() });
const pageData = z.object({
  panel: place.optional().catch(undefined),
  trial: within.optional().catch(undefined),
  session: within.optional().catch(undefined),
});

/** The panel that a bench page is in, from what the page loaded; undefined on pages outside of any. */
export function panelHere(data: unknown): PanelHere | undefined {
  const read = pageData.safeParse(data);
  if (!read.success) return undefined;
  const { panel, trial, session } = read.data;
  if (panel) return { id: panel.id, name: panel.name };
  const inside = trial ?? session;
  return inside && { id: inside.panelId, name: inside.panelName };
}

/** Where to go after signing in: only to the bench of this server, whatever the address says. */
export function afterSignIn(next: string | null): string {
  return next !== null && /^\/bench(?:\/[\w/-]*)?$/.test(next) ? next : '/bench';
}

/** The token in a link's fragment; undefined when it is not a whole one. */
export function tokenOf(hash: string): string | undefined {
  const token = hash.replace(/^#/, '');
  return /^[A-Za-z0-9_-]{22,64}$/.test(token) ? token : undefined;
}
