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
  // Empty ones are always told.
  const hidden = cells.filter((_cell, at) => !told[at]);
  if (hidden.length === 0) return true;
  const answers = hidden.reduce((sum, cell) => sum + cell.answers, 0);
  const counted = hidden.reduce((sum, cell) => sum + cell.counted, 0);
  const own = Math.max(...hidden.map((cell) => Math.min(each, cell.answers)));
  const shared = hidden.length > 2 || (hidden.length === 2 && hidden.every((cell) => cell.answers > each));
  return shared && counted > own && answers - counted > own;
}

function smallestTold(cells: readonly Cell[], told: readonly boolean[]): number | null {
  const left = cells.flatMap(({ answers }, at) => (told[at] && answers > 0 ? [{ answers, at }] : []));
  return left.toSorted((a, b) => a.answers - b.answers)[0]?.at ?? null;
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
  const insiders = places.flatMap((_own, own) =>
    places.map((_right, right) => withoutOne(places, own, right)),
  );
  const open = (left: readonly Place[], right: number): boolean => {
    const bounds = rightAt(left, right);
    return (
      // Bounds that cross: nobody can have been that insider.
      bounds.some(({ lower, upper }) => lower > upper) ||
      bounds.every(({ rightThere, lower, upper }) => rightThere === 0 || (upper > 0 && lower < rightThere))
    );
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
 * over every table with these margins. `lower` above `upper` in some place: there is none. Answers that are not right can
 * be dealt out when no place has more of them, chosen and right there together, than there are in all (Hall's condition).
 */
export function rightAt(
  places: readonly Place[],
  counted: number,
): { rightThere: number; lower: number; upper: number }[] {
  const wrong = places.reduce((sum, { chosen }) => sum + chosen, 0) - counted;
  const alone = places.map(({ chosen, rightThere }) => {
    const there = rightThere ?? 0;
    return {
      there,
      least: Math.max(0, Math.ceil((chosen + there - wrong) / 2)),
      most: Math.min(chosen, there),
    };
  });
  const least = alone.reduce((sum, place) => sum + place.least, 0);
  const most = alone.reduce((sum, place) => sum + place.most, 0);
  // What is right here is what the other places leave of the sum.
  return alone.map((place) => ({
    rightThere: place.there,
    lower: Math.max(place.least, counted - (most - place.most)),
    upper: Math.min(place.most, counted - (least - place.least)),
  }));
}
