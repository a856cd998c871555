import type { Handle, HandleFetch } from '@sveltejs/kit/hooks';

/** A page's own API calls are answered in the same process, without a network hop. */
export const handleFetch: HandleFetch = async ({ event, request, fetch }) => {
  const url = new URL(request.url);
  const answer = event.platform?.req.answerApi;
  if (url.origin !== event.url.origin || !url.pathname.startsWith('/api/') || !answer) return fetch(request);
  const body = request.body === null ? undefined : await request.text();
  const { status, headers, payload } = await answer({
    method: request.method,
    url: url.pathname + url.search,
    headers: {
      ...Object.fromEntries(request.headers),
      cookie: event.request.headers.get('cookie') ?? '',
      host: event.url.host,
    },
    body,
  });
  return new Response(status === 204 ? null : payload, { status, headers });
};

/**
 * Pages for readers leave compressed: they come over any network. The others stay as they are, since compressing a page
 * beside a secret can tell of it by its length.
 */
export const handle: Handle = async ({ event, resolve }) => {
  const response = await resolve(event);
  const { headers, body, status } = response;
  const open = event.url.pathname.startsWith('/p/');
  const accepted = /\bgzip\b/.test(event.request.headers.get('accept-encoding') ?? '');
  if (!open || body === null || !headers.get('content-type')?.startsWith('text/html')) return response;
  headers.append('vary', 'accept-encoding');
  if (!accepted) return response;
  headers.delete('content-length');
  headers.set('content-encoding', 'gzip');
  const etag = headers.get('etag');
  // The same words in other bytes: weakly the same.
  if (etag && !etag.startsWith('W/')) headers.set('etag', `W/${etag}`);
  return new Response(body.pipeThrough(new CompressionStream('gzip')), { status, headers });
};
