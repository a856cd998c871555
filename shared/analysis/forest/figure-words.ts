import type { OriginalFigure, SideBySide } from '../../contracts/replication.ts';
import { people, percent, plain } from '../../ground/phrases.ts';

/** A figure as it is told. */
export function figureInWords(value: number, measure: OriginalFigure['measure']): string {
  if (measure !== 'share') return value.toFixed(2).replace(/^-(0\.00)$/, '$1');
  return value < 0 ? `-${percent(-value)}` : percent(value);
}

/** '0.40 to 2.00'; with one limit '0.40 and above'; null without any. */
export function limitsInWords(
  lower: number | null,
  upper: number | null,
  measure: OriginalFigure['measure'],
): string | null {
  const told = (value: number): string =>
    measure === 'share' ? `${plain(value * 100, 0)} %` : figureInWords(value, measure);
  if (lower !== null && upper !== null) return `${told(lower)} to ${told(upper)}`;
  if (lower !== null) return `${told(lower)} and above`;
  return upper === null ? null : `${told(upper)} and below`;
}

/** The same in lines of text, for files. */
export function besideInLines(beside: SideBySide): string[] {
  return [
    ...beside.rows.map(
      ({ name, measure, original, own, reading }) =>
        `${name}: original ${cell(original, measure)}; here ${cell(own, measure)}. ${reading}`,
    ),
    ...beside.notes,
  ];
}

function cell(
  { effect, lower, upper, level, n }: OriginalFigure,
  measure: OriginalFigure['measure'],
): string {
  const limits = limitsInWords(lower, upper, measure);
  const size = effect === null ? 'without a bound' : figureInWords(effect, measure);
  const interval =
    limits === null || level === null ? '' : `, ${Math.round(level * 100)} % interval ${limits}`;
  return `${MEASURES[measure]} ${size} (${people(n)}${interval})`;
}

export const MEASURES: Readonly<Record<OriginalFigure['measure'], string>> = {
  'd-prime': 'd-prime',
  share: 'share for the first',
  marks: 'mean of the first less that of the second',
};
