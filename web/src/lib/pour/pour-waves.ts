import type { CupToPour, PourView } from '@oddglass/shared/contracts/pour.ts';
import type { Waves } from '@oddglass/shared/contracts/waves.ts';
import { seatsOfWave, waveCount, waveOfSeat } from '@oddglass/shared/rules/waves.ts';

/** Cups that are poured for one wave; of a tasting without waves all of them, as wave null. */
export interface WaveToPour {
  wave: number | null;
  /** 'Wave 2, seats 5 to 8', and whether it is called; empty without waves. */
  name: string;
  /** It is called, or called next: its cups are wanted soon. */
  soon: boolean;
  cups: CupToPour[];
}

/** Which wave a list is narrowed to, from an address; null: to none. What is no wave says nothing. */
export function waveAsked({ waves }: Pick<PourView, 'waves'>, params: { get(name: string): string | null }) {
  const typed = params.get('wave') ?? '';
  const wave = /^[1-9]\d{0,2}$/.test(typed) ? Number(typed) : 0;
  return waves && wave >= 1 && wave <= waveCount(waves) ? wave : null;
}

/** The numbers of the waves; none where everybody sits down at once. */
export const waveNumbers = ({ waves }: Pick<PourView, 'waves'>): number[] =>
  waves ? Array.from({ length: waveCount(waves) }, (_, at) => at + 1) : [];

/** Cups of these waves, the one called now first and the next one after it, then those before and those still to come. */
export function wavesToPour(
  cups: readonly CupToPour[],
  waves: Waves | undefined,
  only: number | null,
): WaveToPour[] {
  if (!waves) return [{ wave: null, name: '', soon: true, cups: [...cups] }];
  // Before the opening the first wave is the one to pour.
  const now = Math.max(1, waves.called);
  const soon = (wave: number): boolean => wave === now || wave === now + 1;
  return waveNumbers({ waves })
    .filter((wave) => only === null || wave === only)
    .sort((a, b) => Number(soon(b)) - Number(soon(a)) || a - b)
    .map((wave) => ({
      wave,
      name: waveName(waves, wave),
      soon: only !== null || soon(wave),
      cups: cups.filter(({ seat }) => waveOfSeat(waves, seat) === wave),
    }))
    .filter(({ cups: own }) => own.length > 0);
}

/** 'Wave 2, seats 5 to 8, called now'. */
export function waveName(waves: Waves, wave: number): string {
  const { from, to } = seatsOfWave(waves, wave);
  const seats = from === to ? `seat ${from}` : `seats ${from} to ${to}`;
  const standing =
    waves.called === 0
      ? ''
      : wave === waves.called
        ? ', called now'
        : wave === waves.called + 1
          ? ', called next'
          : wave < waves.called
            ? ', called before'
            : '';
  return `Wave ${wave}, ${seats}${standing}`;
}
