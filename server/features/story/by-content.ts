import { createHash } from 'node:crypto';

/**
 * What was worked out, kept in memory by the content it was worked out from. Whatever changes, a reading, a reveal, a withdrawal, a
 * correction, is other content, so that nothing kept can go stale, and nobody has to say what changed. The one not asked for
 * longest leaves first; of several who ask at once the first has it made.
 */
export class ByContent<Content, Made> {
  readonly #kept = new Map<string, Promise<Made>>();
  readonly #most: number;
  readonly #make: (content: Content) => Promise<Made>;

  constructor(most: number, make: (content: Content) => Promise<Made>) {
    this.#most = most;
    this.#make = make;
  }

  get(content: Content): Promise<Made> {
    const key = createHash('sha256').update(JSON.stringify(content)).digest('base64url');
    const known = this.#kept.get(key);
    const made = known ?? this.#make(content);
    this.#kept.delete(key);
    this.#kept.set(key, made);
    if (known) return known;
    // What failed is tried again.
    made.catch(() => {
      if (this.#kept.get(key) === made) this.#kept.delete(key);
    });
    for (const oldest of this.#kept.keys()) {
      if (this.#kept.size <= this.#most) break;
      this.#kept.delete(oldest);
    }
    return made;
  }
}
