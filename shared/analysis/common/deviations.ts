/** A note of the trial record, as a result has it. */
export interface NotedDeviation {
  armId: string;
  /** When it happened, as its writer says. */
  on: string;
  note: string;
  /** The day on which it was written, by the server's clock, where that was after the reveal. */
  notedAfterReveal?: string;
}

/**
 * The note, marked where it was written after the reveal: by then everybody knew which arm had won. `of`: the sessions whose
 * reveal came before, where a reader could not tell.
 */
export function deviationText(
  { note, notedAfterReveal }: Pick<NotedDeviation, 'note' | 'notedAfterReveal'>,
  of = '',
): string {
  if (notedAfterReveal === undefined) return note;
  return `${note} (Noted on ${notedAfterReveal}, after the reveal${of === '' ? '' : ` of ${of}`}.)`;
}
