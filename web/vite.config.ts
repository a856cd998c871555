import adapter from '@sveltejs/adapter-node';
import { sveltekit } from '@sveltejs/kit/vite';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { build, defineConfig, type Plugin, type Rolldown } from 'vite';

/** `virtual:verifier`: the script of verify.html in an exported folder, whole, as text. A build of its own, within this one. */
const verifier: Plugin = {
  name: 'verifier',
  resolveId: (name) => (name === 'virtual:verifier' ? '\0verifier' : null),
  async load(name) {
    if (name !== '\0verifier') return null;
    const built = await build({
      configFile: false,
      root: import.meta.dirname,
      logLevel: 'warn',
      // Its styles come with the script.
      plugins: [svelte({ configFile: false, compilerOptions: { css: 'injected' } })],
      define: { 'process.env.NODE_ENV': '"production"' },
      publicDir: false,
      build: {
        write: false,
        lib: { entry: 'src/lib/folder/verifier.ts', formats: ['iife'], name: 'verifier' },
      },
    });
    const [{ output }] = [built].flat() as [Rolldown.RolldownOutput];
    return `export default ${JSON.stringify(output[0].code)};`;
  },
};

export default defineConfig(({ command }) => ({
  plugins: [
    verifier,
    sveltekit({
      adapter: adapter({ out: 'build', precompress: true, envPrefix: 'WEB_' }),
      csp: {
        mode: 'nonce',
        directives: {
          'default-src': ['self'],
          'script-src': ['self'],
          'style-src': ['self', 'unsafe-inline'],
          'img-src': ['self', 'data:'],
          'font-src': ['self', 'data:'],
          // Sockets to this host are added page by page (hooks.server.ts).
          'connect-src': ['self'],
          'object-src': ['none'],
          'base-uri': ['none'],
          'form-action': ['self'],
          'frame-ancestors': ['none'],
        },
      },
    }),
  ],
  // The built pages hold what they need: an image then carries none of the packages they were built with.
  ...(command === 'build' && { ssr: { noExternal: [/./] } }),
  // npm run dev: the service beside it answers, sockets included.
  server: {
    proxy: { '/api': { target: process.env['API_ADDRESS'] ?? 'http://127.0.0.1:8080', ws: true } },
  },
}));
