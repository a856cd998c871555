import { problemDocument, type ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { z } from 'zod';

export type Fetch = typeof globalThis.fetch;

/** The server said no, in its own words (RFC 9457). */
export class ApiProblem extends Error {
  readonly problem: ProblemDocument;
  constructor(problem: ProblemDocument) {
    super(problem.detail);
    this.problem = problem;
  }
  /** Last part of the type, for example 'seat-taken'. */
  override get name(): string {
    return this.problem.type.split('/').at(-1) ?? '';
  }
  /** What to say at the field that a JSON pointer such as '#/arms/1/name' names. */
  at(pointer: string): string | undefined {
    return this.problem.errors?.find((error) => error.pointer === pointer)?.detail;
  }
}

/** No answer came: the network is away, or the server is. Nothing is known about what happened. */
export class NoAnswer extends Error {}

export interface Call<Schema extends z.ZodType> {
  fetch: Fetch;
  method?: 'GET' | 'POST' | 'PUT' | 'PATCH' | 'DELETE';
  path: string;
  answer: Schema;
  body?: unknown;
  /** Seat token, sent as bearer. */
  seatToken?: string;
}

/** One typed request: answers parsed with the contract's schema, refusals thrown as ApiProblem. */
export async function call<Schema extends z.ZodType>(options: Call<Schema>): Promise<z.output<Schema>> {
  const { fetch, method = 'GET', path, answer, body, seatToken } = options;
  const headers: Record<string, string> = { accept: 'application/json' };
  if (body !== undefined) headers['content-type'] = 'application/json';
  if (seatToken !== undefined) headers['authorization'] = `Bearer ${seatToken}`;
  let response: Response;
  let content: unknown;
  try {
    response = await fetch(path, { method, headers, body: body === undefined ? null : JSON.stringify(body) });
    content = await response.json();
  } catch (cause) {
    throw new NoAnswer('The server did not answer.', { cause });
  }
  if (response.ok) return answer.parse(content);
  const problem = problemDocument.safeParse(content);
  // A proxy in between answers in words of its own; that says nothing about what our server did.
  if (!problem.success) throw new NoAnswer(`The server answered ${response.status} without a reason.`);
  throw new ApiProblem(problem.data);
}
