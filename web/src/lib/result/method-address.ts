import type { MethodNote } from '@oddglass/shared/contracts/result-common.ts';

/** Id of a note on the page: parts have notes of the same name. */
export function methodAnchor(part: number, id: string): string {
  return `method-${part}-${id}`;
}

/** Where on the page a number is opened; undefined when its part has no note of that id. */
export function methodAddress(
  { part, methods }: { part: number; methods: readonly MethodNote[] },
  id: string,
): string | undefined {
  return methods.some((note) => note.id === id) ? `#${methodAnchor(part, id)}` : undefined;
}
