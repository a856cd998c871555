import { BLUR_BELOW, LEAST_GROUP, type Protections } from './disclosure.ts';

/** A group of a table whose total is known: so many answers, so many of them counted. */
export interface Cell {
  answers: number;
  counted: number;
}

type Switches = Pick<Protections, 'smallGroups' | 'complementary'>;

/**
 * Which groups of a table may be told, in the order given, when the sums over all groups and the sizes of the groups are
 * known anyway. Withheld are groups below three people, groups below five that are all or none or would be so to one of
 * their own people, and then, smallest first, as many more as it takes until the totals do not give away a withheld one.
 *
 * @param each the most answers one person gave: a group is as small as the fewest people who can stand behind it.
 * Source: primary and complementary (secondary) suppression with an intruder who is one of the contributors, Hundepool et
 * al. 2012, Statistical Disclosure Control, chapter 4 (from memory); bounds of a withheld cell: Fréchet.
 */
export function tellable(cells: readonly Cell[], each: number, switches: Switches): boolean[] {
  const told = cells.map((cell) => !switches.smallGroups || !isRevealing(cell, each));
  if (!switches.complementary) return told;
  for (;;) {
    if (hides(cells, told, each)) return told;
    const next = smallestTold(cells, told);
    if (next === null) return told;
    told[next] = false;
  }
}

function isRevealing({ answers, counted }: Cell, each: number): boolean {
  if (answers === 0) return false;
  const people = Math.floor(answers / each);
  if (people < LEAST_GROUP) return true;
  // One of the group knows their own answers, and with them what is left for the others.
  return people < BLUR_BELOW && (counted <= each || counted >= answers - each);
}

/** Does what is told leave every withheld group open, also to a person in any of them? */
function hides(cells: readonly Cell[], told: readonly boolean[], each: number): boolean {
  const hidden = cells.filter((cell, at) => told[at] === false && cell.answers > 0);
  if (hidden.length === 0) return true;
  const answers = hidden.reduce((sum, cell) => sum + cell.answers, 0);
  const counted = hidden.reduce((sum, cell) => sum + cell.counted, 0);
  return hidden.every((insiders) => {
    const known = Math.min(each, insiders.answers);
    return Array.from({ length: known + 1 }, (_, own) => own).every((own) => {
      const left = { answers: answers - known, counted: counted - own };
      if (left.counted < 0 || left.counted > left.answers) return true;
      return hidden.every((cell) => {
        const size = cell.answers - (cell === insiders ? known : 0);
        const { lower, upper } = boundsOf(size, left);
        return size === 0 || lower < upper;
      });
    });
  });
}

/** Least and most that can be counted in a group of `size` out of a known sum. */
export function boundsOf(size: number, sum: Cell): { lower: number; upper: number } {
  return {
    lower: Math.max(0, sum.counted - (sum.answers - size)),
    upper: Math.min(size, sum.counted),
  };
}

function smallestTold(cells: readonly Cell[], told: readonly boolean[]): number | null {
  let best: number | null = null;
  cells.forEach(({ answers }, at) => {
    if (!told[at] || answers === 0) return;
    if (best === null || answers < (cells[best]?.answers ?? 0)) best = at;
  });
  return best;
}

/** How often a place was chosen, and how often it was the right one; `rightThere` is null where none is right. */
export interface Place {
  chosen: number;
  rightThere: number | null;
}

/**
 * May choices by place be told? Not when the number of right answers leaves only one way to share them out among the
 * places, and not when a place was chosen by so few that 'nobody there was right' follows for those who had it right there.
 */
export function placesTellable(
  places: readonly Place[],
  counted: number,
  switches: Pick<Protections, 'smallGroups'>,
): boolean {
  if (!switches.smallGroups) return true;
  if (places.some(({ chosen }) => chosen < LEAST_GROUP)) return false;
  const most = places.map(({ chosen, rightThere }) => Math.min(chosen, rightThere ?? chosen));
  const sum = most.reduce((total, one) => total + one, 0);
  return places.every(({ rightThere }, at) => {
    if (rightThere === null || rightThere === 0) return true;
    const lower = Math.max(0, counted - (sum - (most[at] ?? 0)));
    const upper = Math.min(most[at] ?? 0, counted);
    return lower < upper && lower < rightThere;
  });
}
