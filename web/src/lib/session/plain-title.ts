/** A title that tells nobody anything about the samples: 'Tasting on 14 March'. */
export function plainTitle(day: Date): string {
  return `Tasting on ${new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'long' }).format(day)}`;
}
