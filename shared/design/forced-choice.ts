/** The three orders of a 3-AFC: B, the stronger sample, once beside two of the other (by counting). */
export const THREE_AFC_ORDERS = ['AAB', 'ABA', 'BAA'] as const;

/** Both orders of a pair: 2-AFC or directional pair, and paired preference (ISO 5495). */
export const PAIR_ORDERS = ['AB', 'BA'] as const;
