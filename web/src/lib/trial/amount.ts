const NO_BREAK = '\u00a0';
const plain = new Intl.NumberFormat('en', { maximumFractionDigits: 2 });

/**
 * A measured amount with at most two decimals. Thousands stand apart by a space, since 9,500 is nine and a half
 * to half of the world.
 */
export const amount = (value: number): string => plain.format(value).replaceAll(',', NO_BREAK);
