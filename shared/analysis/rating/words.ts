import type { MarkFigures } from '../../contracts/result-rating.ts';
import type { SampleFacts } from '../../contracts/result-common.ts';
import { listed, pEquals, plain } from '../../ground/phrases.ts';

type Found = Omit<MarkFigures, 'reading'>;

interface Setting {
  samples: readonly SampleFacts[];
  alpha: number;
  /** Attributes that p is adjusted for. */
  many: number;
}

/** 'Cool 62.1 (55.0 to 69.2)', from the highest. */
export function meansInWords(found: Found, samples: readonly SampleFacts[], digits = 1): string {
  const rows = found.samples
    .flatMap(({ sample, estimated, mean }) => {
      const name = samples.find(({ key }) => key === sample)?.name ?? sample;
      const at = estimated?.mean ?? mean;
      if (at === null) return [];
      const limits = estimated
        ? ` (${estimated.lower.toFixed(digits)} to ${estimated.upper.toFixed(digits)})`
        : '';
      return [{ at, text: `${name} ${at.toFixed(digits)}${limits}` }];
    })
    .sort((a, b) => b.at - a.at);
  return listed(rows.map(({ text }) => text));
}

/** Pairs that differ by the answer the finding stands on, the higher sample first. */
export function differingPairs(found: Found): { high: string; low: string }[] {
  if (!found.shown) return [];
  if (found.trust === 'ranks') {
    return (found.ranks?.pairs ?? [])
      .filter(({ differs }) => differs)
      .map(({ first, second, difference }) => ordered(first, second, difference));
  }
  return found.pairs
    .filter(({ differs }) => differs)
    .map(({ first, second, difference }) => ordered(first, second, difference));
}

function ordered(first: string, second: string, difference: number): { high: string; low: string } {
  return difference >= 0 ? { high: first, low: second } : { high: second, low: first };
}

/** 'Warm above Cool and Dry; Dry above Cool', samples by name. */
export function pairsInWords(found: Found, { samples }: Pick<Setting, 'samples'>): string {
  const nameOf = (key: string): string => samples.find((sample) => sample.key === key)?.name ?? key;
  const groups = Map.groupBy(differingPairs(found), ({ high }) => high);
  return [...groups]
    .sort(([, a], [, b]) => b.length - a.length)
    .map(([high, own]) => `${nameOf(high)} above ${listed(own.map(({ low }) => nameOf(low)))}`)
    .join('; ');
}

/** The test the finding stands on: 'permutation test within people, p < 0.001, adjusted for 2 attributes p < 0.001'. */
export function testInWords({ verdict, test }: Found, many: number): string {
  if (!verdict) return '';
  const p =
    many > 1
      ? `${pEquals(verdict.p)}, adjusted for ${many} attributes ${pEquals(verdict.adjusted)}`
      : pEquals(verdict.p);
  const beside = test ? `; F(${test.df1}, ${plain(test.df2, 1)}) = ${plain(test.f, 2)}` : '';
  return `permutation test within people, ${p}${beside}`;
}

/** 'Means with 95 % intervals', or plain means where the model gives none. */
export function meansName({ samples }: Found): string {
  return samples.some(({ estimated }) => estimated !== null) ? 'Means with 95 % intervals' : 'Means';
}

/** What one list of marks says. 'Not shown' is never written as 'the same'. */
export function markReading(found: Found, about: string, setting: Setting): string {
  const { samples, alpha, many } = setting;
  if (found.n === 0) return `Nobody gave a mark for ${about}.`;
  const means = `${meansName(found)}: ${meansInWords(found, samples)}.`;
  if (!found.verdict) return `${found.reason ?? 'No test could be made.'} ${means}`;
  const tested = `${testInWords(found, many)}; alpha ${alpha}`;
  if (!found.shown) {
    return `No difference in ${about} was demonstrated (${tested}). ${means} Not shown does not mean alike.`;
  }
  const pairs = pairsInWords(found, setting);
  const who = pairs === '' ? 'no single pair stands out' : pairs;
  return `The samples differ in ${about} (${tested}): ${who}. ${means}`;
}
