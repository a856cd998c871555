const FIRST_MS = 500;
const LONGEST_MS = 15_000;

/**
 * How long to wait before try `attempt` (0 is the first repeat): doubling from half a second to a quarter of a
 * minute, spread over the upper half, so that a room full of tablets doesn't come back in one instant.
 * `chance` is a number from 0 up to 1.
 */
export function retryDelay(attempt: number, chance: number): number {
  const ceiling = Math.min(LONGEST_MS, FIRST_MS * 2 ** Math.min(Math.max(attempt, 0), 10));
  return Math.round(ceiling / 2 + (ceiling / 2) * chance);
}
