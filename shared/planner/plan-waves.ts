import { inWords } from '../ground/phrases.ts';
import { seatsOfWave, waveCount, wavesOf, type Seating } from '../rules/waves.ts';

/**
 * What a plan in waves asks of the evening, in a sentence or two; none where everybody sits down at once. Common practice, no
 * source: that an evening takes as long as its waves, and that cups which stand are not those that are fresh.
 */
export function wavesWords(settings: Seating): string[] {
  const waves = wavesOf(settings, null);
  if (waves === null) return [];
  const { seats, seatsAtOnce } = waves;
  const count = waveCount(waves);
  const spare = seatsOfWave(waves, count).from > settings.assessors;
  return [
    `${seats} seats in ${inWords(count)} waves of at most ${inWords(seatsAtOnce)}: the evening lasts about as long as ${inWords(count)} tastings, one after the other. Orders are balanced over all waves, and less evenly within one.${
      spare ? ` The last wave is of spare seats only, and need not be called.` : ''
    }`,
  ];
}

/** The same as a caution for whoever pours. */
export function wavesWarnings(settings: Seating): string[] {
  if (wavesOf(settings, null) === null) return [];
  return [
    'Pour each wave when it is called, never all at once: cups that stand lose gas and aroma and grow warm, so that the last wave would taste other drinks than the first. Keep what is left of opened bottles cold and shut, and look and smell before the next wave.',
  ];
}
