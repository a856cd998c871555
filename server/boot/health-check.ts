import { readConfig } from './config.ts';

// For a container's health check: exit code 0 when the server of this environment answers.
const { port, tls } = readConfig(process.env);
// It asks itself: whether its certificate names localhost is not the question.
if (tls.kind !== 'none') process.env['NODE_TLS_REJECT_UNAUTHORIZED'] = '0';
const answer = await fetch(`${tls.kind === 'none' ? 'http' : 'https'}://127.0.0.1:${port}/api/health`, {
  signal: AbortSignal.timeout(4_000),
}).catch(() => undefined);
process.exit(answer?.ok ? 0 : 1);
