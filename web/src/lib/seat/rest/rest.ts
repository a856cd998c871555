/** Rest left, ms; a clock that was set back does not make it longer than the rest itself. */
export function restLeftAt(now: number, end: number | null, restSeconds: number): number {
  if (end === null) return 0;
  return Math.min(Math.max(end - now, 0), restSeconds * 1000);
}

/** '2:05' for the eye; seconds are rounded up, so that 0:00 means over. */
export function restClock(leftMs: number): string {
  const seconds = Math.ceil(leftMs / 1000);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
}

/** The same for the ear: '2 minutes 5 seconds'. */
export function restWords(leftMs: number): string {
  const total = Math.ceil(leftMs / 1000);
  const part = (count: number, unit: string) => (count ? [`${count} ${unit}${count === 1 ? '' : 's'}`] : []);
  return [...part(Math.floor(total / 60), 'minute'), ...part(total % 60, 'second')].join(' ') || '0 seconds';
}

/** Is this a moment to tell a listener? Each full minute, and at 30 and 10 seconds. */
export function isTold(leftMs: number): boolean {
  const seconds = Math.ceil(leftMs / 1000);
  return seconds > 0 && (seconds % 60 === 0 || seconds === 30 || seconds === 10);
}
