import { createRequire } from 'node:module';
import { fileURLToPath } from 'node:url';
import type { Component } from 'svelte';
import type { Pages } from './search-run.ts';

const web = new URL('../../web/', import.meta.url);

/** The components that draw results and publications, compiled for the server as the pages are. */
export async function openPages(): Promise<{ pages: Pages; close: () => Promise<void> }> {
  const require = createRequire(new URL('package.json', web));
  const { createServer } = (await import(require.resolve('vite'))) as typeof import('vite');
  const vite = await createServer({
    root: fileURLToPath(web),
    server: { middlewareMode: true, hmr: false, ws: false, watch: null },
    appType: 'custom',
    logLevel: 'error',
    optimizeDeps: { noDiscovery: true },
  });
  const load = async <Props extends object>(path: string): Promise<Component<Props>> =>
    (await vite.ssrLoadModule(path))['default'] as Component<Props>;
  const { render } = (await vite.ssrLoadModule('svelte/server')) as typeof import('svelte/server');
  const result = await load<object>('/src/lib/result/Article.svelte');
  const publication = await load<object>('/src/lib/publication/PublishedArticle.svelte');
  const told = (component: Component<object>, props: object): string => {
    const { body } = render(component, { props });
    return body;
  };
  return {
    pages: {
      result: (document) =>
        told(result, { result: document, session: '/bench/session/x', document: '/x', csv: '/x.csv' }),
      publication: (document) =>
        told(publication, { publication: document, url: 'http://localhost/p/x', links: null }),
    },
    close: () => vite.close(),
  };
}
