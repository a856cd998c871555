import type { HandleFetch } from '@sveltejs/kit/hooks';

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
