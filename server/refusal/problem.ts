import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import {
  PROBLEMS,
  type FieldError,
  type ProblemDocument,
  type ProblemName,
} from '@oddglass/shared/contracts/problem.ts';

interface Circumstances {
  /** This case, and how to fix it; the advice of the catalogue when left out. */
  detail?: string;
  errors?: FieldError[];
  stored?: BallotReceipt;
  retryAfterSeconds?: number;
}

/** A refusal a service throws; the one error handler turns it into a problem document. */
export class Problem extends Error {
  readonly kind: ProblemName;
  readonly circumstances: Circumstances;
  constructor(kind: ProblemName, circumstances: Circumstances) {
    super(PROBLEMS[kind].title);
    this.kind = kind;
    this.circumstances = circumstances;
  }
  get status(): number {
    return PROBLEMS[this.kind].status;
  }
  toDocument(requestId: string): ProblemDocument {
    const { title, status, advice } = PROBLEMS[this.kind];
    const { detail = advice, errors, stored } = this.circumstances;
    return {
      type: `/problems/${this.kind}`,
      title,
      status,
      detail,
      instance: `urn:uuid:${requestId}`,
      ...(errors && { errors }),
      ...(stored && { stored }),
    };
  }
}

export function problem(kind: ProblemName, circumstances: Circumstances = {}): Problem {
  return new Problem(kind, circumstances);
}

/** One field that needs another look. */
export function fieldProblem(pointer: string, detail: string): Problem {
  return problem('invalid-input', { detail, errors: [{ pointer, detail }] });
}
