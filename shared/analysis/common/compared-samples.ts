import type { SampleFacts } from '../../contracts/result-common.ts';
import type { ServedTray } from './served.ts';

/** The samples that figures are about. */
export interface ComparedSamples {
  samples: SampleFacts[];
  /** Names of warm-ups, in no figure. */
  warmUps: string[];
  /** Place in `samples` of the sample a cup counts for; null for a warm-up. Throws RangeError for a key without a sample. */
  placeOf: (key: string) => number | null;
}

/**
 * Which samples a flight compares: a hidden duplicate counts for the sample of its arm, the warm-up for none; spiked samples
 * and the hidden control stand for themselves. A sample that stood in marked cups only, to which nothing was asked, is none.
 */
export function comparedSamples(
  named: readonly SampleFacts[],
  trays: readonly ServedTray[],
): ComparedSamples {
  const cups = trays.flatMap((tray) => tray.cups);
  const asked = new Set(cups.filter(({ mark }) => mark === null).map(({ sample }) => sample));
  const marked = new Set(cups.filter(({ mark }) => mark !== null).map(({ sample }) => sample));
  const all = named.filter(({ key }) => asked.has(key) || !marked.has(key));
  const originals = new Map(
    all.filter(({ role, control }) => role === 'sample' && !control).map((sample) => [sample.armId, sample]),
  );
  const target = (sample: SampleFacts): SampleFacts =>
    (sample.role === 'duplicate' ? originals.get(sample.armId) : undefined) ?? sample;
  const samples = [...new Set(all.filter(({ role }) => role !== 'warm-up').map(target))];
  const places = new Map(
    all.map((sample) => [sample.key, sample.role === 'warm-up' ? null : samples.indexOf(target(sample))]),
  );
  return {
    samples,
    warmUps: all.filter(({ role }) => role === 'warm-up').map(({ name }) => name),
    placeOf: (key) => {
      const place = places.get(key);
      if (place === undefined) throw new RangeError(`no sample has the key ${key}`);
      return place;
    },
  };
}
