import { readFileSync } from 'node:fs';

export interface ReferenceCase<Input, Expected> {
  id: string;
  method: string;
  source: string;
  from_memory: boolean;
  input: Input;
  expected: Expected;
  tolerance: number;
  notes: string;
}

const file = new URL('../reference/reference-values.json', import.meta.url);
const cases = JSON.parse(readFileSync(file, 'utf8')) as ReferenceCase<unknown, unknown>[];

/** One case of test/reference/reference-values.json; its shape is what the caller says. */
export function referenceCase<Input, Expected>(id: string): ReferenceCase<Input, Expected> {
  const found = cases.find((one) => one.id === id);
  if (!found) throw new Error(`no reference case ${id}`);
  return found as ReferenceCase<Input, Expected>;
}

export function referenceIds(start: string): string[] {
  return cases.map(({ id }) => id).filter((id) => id.startsWith(start));
}

/** Name of a test: the case with its source, and whether the source was recalled. */
export function named({ id, source, from_memory }: ReferenceCase<unknown, unknown>): string {
  return `${id} (${source}${from_memory ? '; from memory' : ''})`;
}

/** '1/3' as a number. */
export function fraction(text: string): number {
  const [above = NaN, below = 1] = text.split('/').map(Number);
  return above / below;
}
