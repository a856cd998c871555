import { ApiProblem, NoAnswer } from '#lib/api/client.ts';

/** The token opens no seat: another tablet has it, or it never did. */
export const isSeatUnknown = (reason: unknown): boolean =>
  reason instanceof ApiProblem && reason.name === 'seat-unknown';

/** The network, the server or its database is away: worth trying again, and nobody's fault. */
export const isAway = (reason: unknown): boolean =>
  reason instanceof NoAnswer || (reason instanceof ApiProblem && reason.problem.status >= 500);
