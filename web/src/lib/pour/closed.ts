import { PROBLEMS, type ProblemName } from '@oddglass/shared/contracts/problem.ts';
import { ApiProblem } from '#lib/api/client.ts';

/** Why a page stays shut for this viewer now, and what they can do. */
export interface Closed {
  name: string;
  title: string;
  detail: string;
  advice: string;
}

/** The answer, or the named refusals as something to show; every other refusal is thrown on. */
export async function orClosed<T>(
  answer: Promise<T>,
  names: readonly ProblemName[],
): Promise<{ open: T; closed: null } | { open: null; closed: Closed }> {
  try {
    return { open: await answer, closed: null };
  } catch (reason) {
    const name = reason instanceof ApiProblem && names.find((known) => known === reason.name);
    if (!(reason instanceof ApiProblem) || !name) throw reason;
    const { title, advice } = PROBLEMS[name];
    return { open: null, closed: { name, title, detail: reason.problem.detail, advice } };
  }
}
