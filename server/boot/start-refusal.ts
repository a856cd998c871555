/** A start that cannot go on, in words for the person at the terminal; nothing is wrong with the program. */
export class StartRefusal extends Error {}
