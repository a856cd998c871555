import { getContext, setContext } from 'svelte';

type Level = 1 | 2 | 3 | 4 | 5;
const KEY = Symbol('heading level');

/** Level of the finding's heading in what follows: 1 alone on the page, 2 one of several, 3 one of several of a session. */
export function setFindingLevel(level: () => 1 | 2 | 3): void {
  setContext(KEY, level);
}

/** Level of a heading `below` the finding: 0 the finding itself, 1 a section, 2 a group within a section. */
export function headingLevel(below: 0 | 1 | 2): Level {
  const finding = getContext<(() => 1 | 2 | 3) | undefined>(KEY)?.() ?? 1;
  return (finding + below) as Level;
}

const PART = Symbol('part label');

/** Id of the element that names the part, so that sections of the same title are told apart by ear. */
export function setPartLabel(id: () => string | undefined): void {
  setContext(PART, id);
}

/** Ids that name a section: its own heading, and its part where there are several. */
export function sectionLabels(heading: string): string {
  const part = getContext<(() => string | undefined) | undefined>(PART)?.();
  return part === undefined ? heading : `${heading} ${part}`;
}

const NAME = Symbol('part name');

/** How a part is named where parts of several sessions stand on one page, and so have numbers of the page's own. */
export function setPartName(name: (part: number) => string): void {
  setContext(NAME, name);
}

/** 'Part 2', or what the page calls it. */
export function partName(): (part: number) => string {
  return getContext<((part: number) => string) | undefined>(NAME) ?? ((part) => `Part ${part}`);
}
