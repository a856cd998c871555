/** The six serving orders of a triangle (ISO 4120). */
export const TRIANGLE_ORDERS = ['AAB', 'ABA', 'BAA', 'BBA', 'BAB', 'ABB'] as const;
