import type { z } from 'zod';

/** What a contract says of each field, by the same JSON pointers as the server's problem documents. */
export function fieldNotes(error: z.ZodError): Record<string, string> {
  const notes: Record<string, string> = {};
  for (const { path, message, code, ...issue } of error.issues) {
    const pointer = `#/${path.join('/')}`;
    // What the library says of an empty number or a fraction is meant for programmers.
    const expected = 'expected' in issue ? issue.expected : undefined;
    const words =
      code === 'invalid_type' && message.startsWith('Invalid input')
        ? expected === 'int'
          ? 'Give a whole number.'
          : 'Give a number.'
        : code === 'too_small' && message.startsWith('Too small')
          ? 'This cannot be below zero.'
          : code === 'invalid_format' && message.startsWith('Invalid')
            ? 'Choose one.'
            : message;
    notes[pointer] ??= words;
  }
  return notes;
}
