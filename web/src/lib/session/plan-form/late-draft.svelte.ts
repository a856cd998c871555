import type { LateQuestion } from '@oddglass/shared/contracts/part.ts';

export const MAX_LATE_WORDS = 12;

/** The late question of a description as it is typed: is it asked, for which words, and after how long. */
export class LateDraft {
  asked = $state(false);
  words = $state<string[]>([]);
  seconds = $state<number | null>(60);

  /** Takes over what was kept. */
  take(late: LateQuestion | undefined): void {
    this.asked = late !== undefined;
    this.words = [...(late?.words ?? [])];
    this.seconds = late?.seconds ?? 60;
  }

  /** Asks it for the words proposed, or no longer. Words chosen before stay. */
  ask(on: boolean, proposed: readonly string[]): void {
    this.asked = on;
    if (on && !this.words.some((word) => proposed.includes(word))) {
      this.words = proposed.slice(0, MAX_LATE_WORDS);
    }
  }

  toggle(id: string): void {
    this.words = this.words.includes(id) ? this.words.filter((one) => one !== id) : [...this.words, id];
  }

  /** What is sent: words that are offered at first; null: all are. */
  typed(offered: readonly string[] | null): Record<string, unknown> {
    if (!this.asked) return {};
    const words = this.words.filter((word) => offered === null || offered.includes(word));
    return { late: { words, seconds: this.seconds } };
  }
}
