/** Rest left before the next tray, ms, from when the last ballot came in. Never negative, never more than the rest. */
export function restLeft(lastBallotAt: Date | null, restSeconds: number, now: Date): number {
  if (lastBallotAt === null) return 0;
  const left = restSeconds * 1000 - (now.getTime() - lastBallotAt.getTime());
  return Math.round(Math.min(Math.max(left, 0), restSeconds * 1000));
}
