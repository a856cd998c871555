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
export function differingPairs(found: Found, alpha: number): { high: string; low: string }[] {
  if (!found.shown) return [];
  if (found.trust === 'ranks') {
    return (found.ranks?.pairs ?? [])
      .filter(({ differs }) => differs)
      .map(({ first, second, difference }) => ordered(first, second, difference));
  }
  if (found.trust === 'link') {
    return (found.link?.pairs ?? [])
      .filter(({ pTukey }) => pTukey <= alpha)
      .map(({ first, second, oddsRatio }) => ordered(first, second, Math.log(oddsRatio)));
  }
  return found.pairs
    .filter(({ differs }) => differs)
    .map(({ first, second, difference }) => ordered(first, second, difference));
}

function ordered(first: string, second: string, difference: number): { high: string; low: string } {
  return difference >= 0 ? { high: first, low: second } : { high: second, low: first };
}

/** 'Warm above Cool and Dry; Dry above Cool', samples by name. */
export function pairsInWords(found: Found, { samples, alpha }: Setting): string {
  const nameOf = (key: string): string => samples.find((sample) => sample.key === key)?.name ?? key;
  const groups = Map.groupBy(differingPairs(found, alpha), ({ high }) => high);
  return [...groups]
    .sort(([, a], [, b]) => b.length - a.length)
    .map(([high, own]) => `${nameOf(high)} above ${listed(own.map(({ low }) => nameOf(low)))}`)
    .join('; ');
}

/** The test the finding stands on: 'F(3, 24) = 25.14, p < 0.001, adjusted for 2 attributes p < 0.001'. */
export function testInWords(found: Found, many: number): string {
  const { trust, test, ranks, link } = found;
  const adjustedOf = (answer: { p: number; adjusted: number }): string =>
    many > 1
      ? `${pEquals(answer.p)}, adjusted for ${many} attributes ${pEquals(answer.adjusted)}`
      : pEquals(answer.p);
  if (trust === 'ranks' && ranks) {
    const name = ranks.by === 'durbin' ? 'Durbin test' : 'Friedman test';
    return `${name}, ${adjustedOf(ranks)}`;
  }
  if (trust === 'link' && link) {
    return `cumulative logit, chi-square(${link.df}) = ${plain(link.chiSquare, 2)}, ${adjustedOf(link)}`;
  }
  return test ? `F(${test.df1}, ${plain(test.df2, 1)}) = ${plain(test.f, 2)}, ${adjustedOf(test)}` : '';
}

/** What one list of marks says. 'Not shown' is never written as 'the same'. */
export function markReading(found: Found, about: string, setting: Setting): string {
  const { samples, alpha, many } = setting;
  if (found.n === 0) return `Nobody gave a mark for ${about}.`;
  const means = `Means with 95 % intervals: ${meansInWords(found, samples)}.`;
  if (!found.test && !found.shown) return `${found.reason ?? 'No test could be made.'} ${means}`;
  const tested = `${testInWords(found, many)}; alpha ${alpha}`;
  if (!found.shown) {
    return `No difference in ${about} was demonstrated (${tested}). ${means} Not shown does not mean alike.`;
  }
  const pairs = pairsInWords(found, setting);
  const who = pairs === '' ? 'no single pair stands out' : pairs;
  return `The samples differ in ${about} (${tested}): ${who}. ${means}`;
}
