/** Places a cup after those that have a place; a cup that has one is taken back, and those after it move up. */
export function toggleCup(order: readonly string[], cup: string): string[] {
  return order.includes(cup) ? order.filter((other) => other !== cup) : [...order, cup];
}

/** Moves a cup by one place: -1 towards least, 1 towards most. At the end it stays. */
export function moveCup(order: readonly string[], cup: string, by: -1 | 1): string[] {
  const from = order.indexOf(cup);
  const to = from + by;
  const other = order[to];
  if (from < 0 || other === undefined) return [...order];
  const moved = [...order];
  moved[to] = cup;
  moved[from] = other;
  return moved;
}

/** What happened to a cup, for those who listen. */
export function placeWords(order: readonly string[], cup: string, cups: number): string {
  const place = order.indexOf(cup) + 1;
  return place > 0 ? `${cup} is at place ${place} of ${cups}` : `${cup} is taken back`;
}
