import { getContext, setContext } from 'svelte';

type Level = 1 | 2 | 3 | 4;
const KEY = Symbol('heading level');

/** Level of the finding's heading in what follows: 1 when it stands alone on the page, 2 when it is one of several. */
export function setFindingLevel(level: () => 1 | 2): void {
  setContext(KEY, level);
}

/** Level of a heading `below` the finding: 0 the finding itself, 1 a section, 2 a group within a section. */
export function headingLevel(below: 0 | 1 | 2): Level {
  const finding = getContext<(() => 1 | 2) | undefined>(KEY)?.() ?? 1;
  return (finding + below) as Level;
}
