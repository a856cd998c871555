import type { Forest } from '@oddglass/shared/contracts/forest.ts';

/** Where a value of a forest stands, 0 to 1 from left to right; `line`: that of no difference. */
export interface ForestScale {
  low: number;
  high: number;
  line: number;
  at: (value: number) => number;
}

/** The span of all that is drawn, the line of no difference within it; shares stand on 0 to 1. */
export function forestScale({
  measure,
  rows,
  pooled,
}: Pick<Forest, 'measure' | 'rows' | 'pooled'>): ForestScale {
  const line = measure === 'share' ? 0.5 : 0;
  const drawn = [...rows, ...(pooled ? [pooled] : [])].flatMap(({ effect, lower, upper }) => [
    effect,
    lower,
    upper,
  ]);
  const values = measure === 'share' ? [0, 1] : [line, ...drawn.filter((value) => value !== null)];
  const [least, most] = [Math.min(...values), Math.max(...values)];
  const room = measure === 'share' ? 0 : (most - least || 1) * 0.06;
  const [low, high] = [least - room, most + room];
  return { low, high, line, at: (value) => Math.min(1, Math.max(0, (value - low) / (high - low))) };
}
