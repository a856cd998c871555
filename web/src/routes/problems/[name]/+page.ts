import { error } from '@sveltejs/kit';
import { PROBLEMS, type ProblemName } from '@oddglass/shared/contracts/problem.ts';
import type { PageLoad } from './$types';

/** A page of words: nothing on it needs scripts. */
export const csr = false;

const isProblem = (name: string): name is ProblemName => Object.hasOwn(PROBLEMS, name);

export const load: PageLoad = ({ params }) => {
  if (!isProblem(params.name)) error(404, 'There is no problem of this name.');
  return { name: params.name, ...PROBLEMS[params.name] };
};
