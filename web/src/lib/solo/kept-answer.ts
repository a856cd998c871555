import { soloAnswerInput, type SoloAnswerInput } from '@oddglass/shared/contracts/solo.ts';

/** What a page may keep on the device: localStorage, or nothing where the browser refuses it. */
export type Shelf = Pick<Storage, 'getItem' | 'setItem' | 'removeItem'>;

const keyOf = (series: string): string => `oddglass-solo-${series}`;

/**
 * An answer that was locked and has not been acknowledged, kept until it is: the same id goes out again after a reload.
 * Never a key: what stood where is not kept on any device.
 */
export class KeptAnswer {
  readonly #shelf: Shelf | null;
  readonly #key: string;

  constructor(series: string, shelf: Shelf | null) {
    this.#key = keyOf(series);
    this.#shelf = shelf;
  }

  read(): SoloAnswerInput | null {
    try {
      const text = this.#shelf?.getItem(this.#key) ?? null;
      return text === null ? null : (soloAnswerInput.safeParse(JSON.parse(text)).data ?? null);
    } catch {
      return null;
    }
  }

  /** False where it could not be kept; it then lives as long as the page. */
  keep(answer: SoloAnswerInput): boolean {
    try {
      this.#shelf?.setItem(this.#key, JSON.stringify(answer));
      return this.#shelf !== null;
    } catch {
      return false;
    }
  }

  drop(): void {
    try {
      this.#shelf?.removeItem(this.#key);
    } catch {
      // What cannot be removed is sent again, and counts once.
    }
  }
}

export function deviceShelf(): Shelf | null {
  try {
    return globalThis.localStorage ?? null;
  } catch {
    return null;
  }
}
