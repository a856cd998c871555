/** The day where the reader is, YYYY-MM-DD, as date fields take it. */
export function localDay(now: Date): string {
  const two = (count: number): string => String(count).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
