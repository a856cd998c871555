import type { RequestHandler } from './$types';

// Runs before the first paint, so that a dark room gets no bright flash: the light this device showed last.
const script = `try {
  var light = localStorage.getItem('oddglass.light') || localStorage.getItem('oddglass.light-shown');
  if (light === 'masking') document.documentElement.dataset.light = 'masking';
} catch (refused) {}
`;

export const GET: RequestHandler = () =>
  new Response(script, {
    headers: { 'content-type': 'text/javascript; charset=utf-8', 'cache-control': 'public, max-age=86400' },
  });
