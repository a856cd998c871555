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

// Below this the headers weigh more than what is saved.
const WORTH_COMPRESSING = 1024;

/**
 * Pages leave compressed. No page of ours repeats what an address or a form said beside a secret, and cookies do not come
 * along from other sites, so that lengths tell nothing to anybody who guesses (BREACH, 2013).
 */
export const handle: Handle = async ({ event, resolve }) => {
  const response = await resolve(event, {
    transformPageChunk: ({ html }) => (isForReaders(event.url) ? html.replace(EARLY_TAP, '') : html),
  });
  allowSockets(response.headers, event.url);
  const { headers, body, status } = response;
  const type = headers.get('content-type') ?? '';
  if (body === null || headers.has('content-encoding') || !/^(?:text\/html|application\/json)/.test(type))
    return response;
  headers.append('vary', 'accept-encoding');
  const length = Number(headers.get('content-length') ?? WORTH_COMPRESSING);
  if (length < WORTH_COMPRESSING || !takesGzip(event.request.headers.get('accept-encoding') ?? ''))
    return response;
  headers.delete('content-length');
  headers.set('content-encoding', 'gzip');
  const etag = headers.get('etag');
  // The same words in other bytes: weakly the same.
  if (etag && !etag.startsWith('W/')) headers.set('etag', `W/${etag}`);
  return new Response(body.pipeThrough(new CompressionStream('gzip')), { status, headers });
};

// Of app.html, for pages that wait for their scripts: those for readers are whole without, and let none in.
const EARLY_TAP = /\s*<script nonce="[^"]*">[\s\S]*?<\/script>/;

const isForReaders = ({ pathname }: URL): boolean => pathname.startsWith('/p/');

/** Older Safari does not count sockets of this host among 'self'. Pages for readers open none, and are kept for all hosts. */
function allowSockets(headers: Headers, url: URL): void {
  const policy = headers.get('content-security-policy');
  if (policy === null || isForReaders(url)) return;
  const { host, protocol } = url;
  const socket = `${protocol === 'https:' ? 'wss' : 'ws'}://${host}`;
  headers.set(
    'content-security-policy',
    policy.replace("connect-src 'self'", `connect-src 'self' ${socket}`),
  );
}

/** RFC 9110, section 12.5.3: a weight of 0 refuses. */
function takesGzip(accepted: string): boolean {
  return accepted.split(',').some((one) => {
    const [name, ...rest] = one
      .trim()
      .toLowerCase()
      .split(/\s*;\s*/);
    return name === 'gzip' && !rest.some((weight) => /^q=0(?:\.0*)?$/.test(weight));
  });
}
