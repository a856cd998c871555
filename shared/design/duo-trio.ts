/** Orders of a duo-trio with reference A at every seat (ISO 10399): the reference first, then the pair. */
export const DUO_TRIO_CONSTANT_ORDERS = ['AAB', 'ABA'] as const;

/** Orders of a duo-trio in which each sample is the reference equally often (ISO 10399): the reference first. */
export const DUO_TRIO_BALANCED_ORDERS = ['AAB', 'ABA', 'BAB', 'BBA'] as const;
