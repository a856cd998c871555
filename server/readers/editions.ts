import type { Db } from '@oddglass/db/client.ts';
import { editionOfAddress, editionOfList } from '@oddglass/db/queries/publication.ts';

// A withdrawal by another process is seen this much later at the most; one by this process at once.
const FRESH_MS = 1_000;
const MAX_KNOWN = 1_000;

interface Known {
  at: number;
  edition: Promise<string | null>;
}

/** Which edition of a publication, or of a panel's list, readers get now: one small query a second at the most. */
export class Editions {
  readonly #db: Db;
  readonly #now: () => number;
  readonly #known = new Map<string, Known>();

  constructor(db: Db, now: () => number = () => performance.now()) {
    this.#db = db;
    this.#now = now;
  }

  /** Null when nothing is there. */
  ofAddress(address: string): Promise<string | null> {
    return this.#look(`address ${address}`, () => editionOfAddress(this.#db, address));
  }

  ofList(panelId: string): Promise<string | null> {
    return this.#look(`list ${panelId}`, () => editionOfList(this.#db, panelId));
  }

  /** Something was published or withdrawn. */
  forget(): void {
    this.#known.clear();
  }

  #look(key: string, read: () => Promise<string | null>): Promise<string | null> {
    const known = this.#known.get(key);
    if (known && this.#now() - known.at < FRESH_MS) return known.edition;
    if (this.#known.size >= MAX_KNOWN) this.#known.clear();
    const edition = read();
    this.#known.set(key, { at: this.#now(), edition });
    edition.catch(() => this.#known.delete(key));
    return edition;
  }
}
