/** The six orders of a tetrad, two cups of each sample: all there are (by counting). */
export const TETRAD_ORDERS = ['AABB', 'ABAB', 'ABBA', 'BBAA', 'BABA', 'BAAB'] as const;
