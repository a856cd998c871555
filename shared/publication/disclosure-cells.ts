import { BLUR_BELOW, MIN_GROUP, type Protections } from './disclosure.ts';

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
 * @param blurBelow below this many people a group may not be all or none; Infinity where a tray tells who is in it.
 * Source: primary and complementary (secondary) suppression with an intruder who is one of the contributors, Hundepool et
 * al. 2012, Statistical Disclosure Control, chapter 4 (from memory); bounds of a withheld cell: Fréchet.
 */
export function disclosable(
  cells: readonly Cell[],
  each: number,
  switches: Switches,
  blurBelow: number = BLUR_BELOW,
): boolean[] {
  const told = cells.map((cell) => !switches.smallGroups || !isRevealing(cell, each, blurBelow));
  if (!switches.complementary) return told;
  for (;;) {
    if (hides(cells, told, each)) return told;
    const next = smallestTold(cells, told);
    if (next === null) return told;
    told[next] = false;
  }
}

function isRevealing({ answers, counted }: Cell, each: number, blurBelow: number): boolean {
  if (answers === 0) return false;
  const people = Math.floor(answers / each);
  if (people < MIN_GROUP) return true;
  // One of the group knows their own answers, and with them what is left for the others: a group smaller by one.
  return people - 1 < blurBelow && (counted <= each || counted >= answers - each);
}

/**
 * Does what is told leave every withheld group open, also to a person in any of them? What is known of the withheld ones is
 * their sizes and the sum counted. Somebody who takes their own answers away must still find another two groups that the
 * rest can be shared between, and neither none nor all of that rest counted.
 */
function hides(cells: readonly Cell[], told: readonly boolean[], each: number): boolean {
  const hidden = cells.filter((_cell, at) => told[at] === false);
  if (hidden.every(({ answers }) => answers === 0)) return true;
  const groups = hidden.filter(({ answers }) => answers > 0);
  const answers = groups.reduce((sum, cell) => sum + cell.answers, 0);
  const counted = groups.reduce((sum, cell) => sum + cell.counted, 0);
  const own = Math.max(...groups.map((cell) => Math.min(each, cell.answers)));
  const shared = groups.length > 2 || (groups.length === 2 && groups.every((cell) => cell.answers > each));
  return shared && counted > own && answers - counted > own;
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
 * May choices by place be told? Not when they and the number of right answers leave only one answer for those who had the
 * right cup in some place, whether to outsiders or to somebody who takes their own answer away first. Where no answer is
 * right, not when a place was chosen by fewer than three.
 */
export function placesDisclosable(
  places: readonly Place[],
  counted: number,
  switches: Pick<Protections, 'smallGroups'>,
): boolean {
  if (!switches.smallGroups) return true;
  if (places.some(({ rightThere }) => rightThere === null)) {
    return places.every(({ chosen }) => chosen >= MIN_GROUP);
  }
  const insiders = places.flatMap(({ chosen }, own) =>
    places.flatMap(({ rightThere }, right) =>
      chosen > 0 && rightThere ? [withoutOne(places, own, right)] : [],
    ),
  );
  const open = (left: readonly Place[], right: number): boolean => {
    const bounds = rightAt(left, right);
    return left.every(({ rightThere }, at) => {
      const { lower, upper } = bounds[at] ?? { lower: 0, upper: 0 };
      // Bounds that cross: nobody can have been that insider.
      return !rightThere || lower > upper || (upper > 0 && lower < rightThere);
    });
  };
  return open(places, counted) && insiders.every(({ left, hit }) => open(left, counted - hit));
}

function withoutOne(places: readonly Place[], own: number, right: number): { left: Place[]; hit: number } {
  const left = places.map(({ chosen, rightThere }, at) => ({
    chosen: chosen - (at === own ? 1 : 0),
    rightThere: (rightThere ?? 0) - (at === right ? 1 : 0),
  }));
  return { left, hit: own === right ? 1 : 0 };
}

/**
 * Least and most right answers in each place, from how often it was chosen and was right, and the sum of right answers:
 * over every table with these margins. `lower` above `upper`: there is none. Answers that are not right can be dealt out
 * when no place has more of them, chosen and right there together, than there are in all (Hall's condition).
 */
export function rightAt(places: readonly Place[], counted: number): { lower: number; upper: number }[] {
  const bounds = places.map(() => ({ lower: Infinity, upper: -Infinity }));
  const wrong = places.reduce((sum, { chosen }) => sum + chosen, 0) - counted;
  const fits = (right: readonly number[]): boolean =>
    places.every(({ chosen, rightThere }, at) => chosen + (rightThere ?? 0) - 2 * (right[at] ?? 0) <= wrong);
  const deal = (right: readonly number[], left: number): void => {
    const place = places[right.length];
    if (!place) {
      if (left !== 0 || !fits(right)) return;
      bounds.forEach((bound, at) => {
        bound.lower = Math.min(bound.lower, right[at] ?? 0);
        bound.upper = Math.max(bound.upper, right[at] ?? 0);
      });
      return;
    }
    const most = Math.min(place.chosen, place.rightThere ?? 0, left);
    for (let here = 0; here <= most; here += 1) deal([...right, here], left - here);
  };
  deal([], counted);
  return bounds;
}
