import adapter from '@sveltejs/adapter-node';
import { sveltekit } from '@sveltejs/kit/vite';
import { defineConfig } from 'vite';

export default defineConfig(({ command }) => ({
  plugins: [
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
