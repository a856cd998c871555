/** What a log may say of an error. */
export type Tellable = { type: string; message: string; code?: string; stack: string };

/**
 * An error without what was being written. A failed statement carries its parameters in message and stack, and while
 * a plan is sealed those are the key; PostgreSQL's own error below it says what went wrong, and its `detail`, which
 * quotes rows, is left out.
 */
export function loggableError(error: unknown): Tellable {
  let told = error;
  while (told instanceof Error && 'query' in told && 'params' in told && told.cause instanceof Error)
    told = told.cause;
  if (!(told instanceof Error)) return { type: typeof told, message: 'not an error', stack: '' };
  const withheld = 'params' in told;
  return {
    type: told.name,
    message: withheld ? 'a statement failed' : told.message,
    ...('code' in told && typeof told.code === 'string' && { code: told.code }),
    stack: withheld ? '' : (told.stack ?? ''),
  };
}
