/** How long a way from one tablet to another stays open. */
export const MOVE_LASTS_MS = 10 * 60_000;
