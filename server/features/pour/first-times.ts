// Enough for every evening of a long-running server; then it forgets and tells again.
const REMEMBERED = 10_000;

/** Which things have happened before, as far as this process knows. */
export class FirstTimes {
  readonly #seen = new Set<string>();

  isFirst(key: string): boolean {
    if (this.#seen.has(key)) return false;
    if (this.#seen.size >= REMEMBERED) this.#seen.clear();
    this.#seen.add(key);
    return true;
  }
}
