/** Context under which a sheet gives what every step of it shows below its question. */
export const BELOW = Symbol('below the question');
