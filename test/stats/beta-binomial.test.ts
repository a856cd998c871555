import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  betaBinomialLogLikelihood,
  fitBetaBinomial,
  groupAnswers,
} from '@oddglass/shared/stats/discrimination/beta-binomial-likelihood.ts';
import {
  adjustedAgainstGuessing,
  betaBinomial,
} from '@oddglass/shared/stats/discrimination/beta-binomial.ts';
import { chanceCorrectedBetaBinomial } from '@oddglass/shared/stats/discrimination/chance-corrected-beta-binomial.ts';
import { exactP } from '@oddglass/shared/stats/discrimination/exact-p.ts';
import type { AssessorAnswers } from '@oddglass/shared/stats/discrimination/replicated.ts';
import { taroneTest } from '@oddglass/shared/stats/discrimination/tarone.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { SOFTWARE, VALUES } from './discrimination-values.ts';
import { fraction, named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const panel = (correct: readonly number[], answers: number) =>
  correct.map((right) => ({ answers, correct: right }));

interface Expected {
  total_correct: number;
  n: number;
  p_pooled_binomial: number;
  loglik_binomial: number;
  beta_binomial: { mu: number; gamma: number; loglik: number };
  LR: number;
  p_LR_half_chisq1: number;
  tarone_z: number;
  p_tarone_one_sided: number;
  chance_corrected: { mu_pd: number; gamma_pd: number; loglik: number; pc: number };
  design_effect_1_plus_m_minus_1_gamma: number;
  z_adjusted_vs_chance: number;
  p_adjusted: number;
}

describe('beta-binomial', () => {
  const one = referenceCase<{ correct_per_assessor: number[]; replicates: number; p0: string }, Expected>(
    'betabinomial-triangle-15x4',
  );
  const clusters = panel(one.input.correct_per_assessor, one.input.replicates);
  const guessRate = fraction(one.input.p0);
  const wanted = one.expected;

  it(`${named(one)}: beta-binomial on pc, to 1e-6`, () => {
    const ours = betaBinomial(clusters);
    expect([ours.correct, ours.n, ours.assessors]).toEqual([wanted.total_correct, wanted.n, 15]);
    expectWithin(ours.mu, wanted.beta_binomial.mu, 1e-6);
    expectWithin(ours.gamma, wanted.beta_binomial.gamma, 1e-6);
    expectWithin(ours.logLikelihood, wanted.beta_binomial.loglik, 1e-9);
    expectWithin(ours.logLikelihoodBinomial, wanted.loglik_binomial, 1e-9);
    expectWithin(ours.likelihoodRatio, wanted.LR, 1e-8);
    expectWithin(ours.p, wanted.p_LR_half_chisq1, 1e-9);
    expectWithin(exactP({ correct: 36, n: 60, guessRate }), wanted.p_pooled_binomial, 1e-14);
  });

  it(`${named(one)}: chance-corrected on pd, to 1e-6`, () => {
    const ours = chanceCorrectedBetaBinomial({ clusters, guessRate });
    expectWithin(ours.muShare, wanted.chance_corrected.mu_pd, 1e-6);
    expectWithin(ours.gammaShare, wanted.chance_corrected.gamma_pd, 1e-6);
    expectWithin(ours.proportionCorrect, wanted.chance_corrected.pc, 1e-6);
    expectWithin(ours.logLikelihood, wanted.chance_corrected.loglik, 1e-9);
  });

  it(`${named(one)}: Tarone and the adjusted test`, () => {
    const tarone = taroneTest(clusters);
    expectWithin(tarone.z, wanted.tarone_z, 1e-10);
    expectWithin(tarone.p, wanted.p_tarone_one_sided, 1e-12);
    const { gamma } = betaBinomial(clusters);
    const adjusted = adjustedAgainstGuessing({
      assessors: 15,
      replicates: 4,
      correct: 36,
      gamma: gamma ?? NaN,
      guessRate,
    });
    expectWithin(adjusted.designEffect, wanted.design_effect_1_plus_m_minus_1_gamma, 1e-6);
    expectWithin(adjusted.z, wanted.z_adjusted_vs_chance, 1e-6);
    expectWithin(adjusted.p, wanted.p_adjusted, 1e-8);
  });

  it.each(VALUES.betaBinomial)(
    `${SOFTWARE}, root of the score at 30 digits: guess rate $guessRate, mu $mu`,
    ({ people, guessRate: floor, ...row }) => {
      expect(row.topOfTheCurve).toBe(true);
      const cases = people.map(([correct, answers]) => ({ correct, answers }));
      const fit = fitBetaBinomial({ groups: groupAnswers(cases), guessRate: floor });
      if (!fit) throw new Error('fit expected');
      expectWithin(fit.mu, row.mu, 1e-9);
      expectWithin(fit.gamma, row.gamma, 1e-9);
      expectRelative(fit.logLikelihood, row.logLikelihood, 1e-12);
      expectRelative(fit.logLikelihoodBinomial, row.logLikelihoodBinomial, 1e-12);
      expectRelative(fit.standardErrorMu, row.standardErrorMu, 1e-6);
      expectRelative(fit.standardErrorGamma, row.standardErrorGamma, 1e-6);
      const p =
        floor === 0
          ? betaBinomial(cases).p
          : chanceCorrectedBetaBinomial({ clusters: cases, guessRate: floor }).p;
      expectRelative(p, row.p, 1e-9);
    },
  );

  const edge = referenceCase<
    { correct_per_assessor: number[]; replicates: number }[],
    { gamma?: number | null; gamma_approx?: number }[]
  >('betabinomial-edge');
  it(named(edge), () => {
    edge.input.forEach(({ correct_per_assessor, replicates }, index) => {
      const people = panel(correct_per_assessor, replicates);
      const expected = edge.expected[index];
      const ours = betaBinomial(people);
      expect(ours.gamma).toBe(expected?.gamma_approx ?? expected?.gamma);
      if (ours.gamma === null) {
        expect(ours).toMatchObject({ likelihoodRatio: null, p: null, logLikelihood: null });
        expect(chanceCorrectedBetaBinomial({ clusters: people, guessRate: 1 / 3 })).toMatchObject({
          gammaShare: null,
          p: null,
        });
        expect(taroneTest(people).z).toBeNull();
      } else {
        expectWithin(ours.mu, 0.5, 1e-9);
      }
    });
  });

  it('at gamma = 0 there is no sign of variation: ratio 0, p 1', () => {
    expect(betaBinomial(panel([2, 2, 2, 2, 2, 2], 4))).toMatchObject({
      gamma: 0,
      likelihoodRatio: 0,
      p: 1,
      standardErrorGamma: null,
    });
  });

  it('all or nothing: the likelihood is that of as many answers as assessors', () => {
    const ours = betaBinomial(panel([4, 4, 0, 0, 4, 0], 4));
    expect(ours.gamma).toBe(1);
    expectWithin(ours.logLikelihood, 6 * Math.log(0.5), 1e-7);
  });

  it('nobody, one assessor, none right, and a best share of 0', () => {
    expect(betaBinomial([])).toMatchObject({ mu: null, gamma: null, n: 0 });
    expect(betaBinomial(panel([0, 0, 0], 4))).toMatchObject({ mu: 0, gamma: null });
    // One assessor cannot differ from others: the best gamma is at an end, and nothing breaks.
    expect(betaBinomial(panel([3], 8)).gamma).toBe(0);
    const low = chanceCorrectedBetaBinomial({ clusters: panel([1, 1, 1, 1], 6), guessRate: 1 / 3 });
    expect(low).toMatchObject({ muShare: 0, proportionCorrect: 1 / 3, gammaShare: null, p: null });
    const all = chanceCorrectedBetaBinomial({ clusters: panel([4, 4], 4), guessRate: 1 / 3 });
    expect(all).toMatchObject({ muShare: 1, gammaShare: null });
    const none = chanceCorrectedBetaBinomial({ clusters: [], guessRate: 1 / 3 });
    expect(none).toMatchObject({ muShare: null, proportionCorrect: null, n: 0 });
  });

  it('is the binomial at gamma = 0, with any guess rate', () => {
    const groups = groupAnswers(clusters);
    const at = (mu: number, floor: number) =>
      betaBinomialLogLikelihood({ groups, mu, gamma: 0, guessRate: floor });
    expectRelative(at(0.6, 0), wanted.loglik_binomial, 1e-11);
    expectRelative(at(0.4, 1 / 3), wanted.loglik_binomial, 1e-11);
  });

  it('chances of all counts add up to 1', () => {
    for (const [mu, gamma, floor] of [
      [0.3, 0.2, 0],
      [0.7, 0.9, 1 / 3],
      [0.05, 0.5, 1 / 2],
    ] as const) {
      let sum = 0;
      for (let correct = 0; correct <= 9; correct += 1) {
        const groups = [{ answers: 9, correct, assessors: 1 }];
        sum += Math.exp(betaBinomialLogLikelihood({ groups, mu, gamma, guessRate: floor }));
      }
      expectWithin(sum, 1, 1e-13);
    }
  });

  const people = fc.array(
    fc
      .integer({ min: 1, max: 6 })
      .chain((answers) =>
        fc.record({ answers: fc.constant(answers), correct: fc.integer({ min: 0, max: answers }) }),
      ),
    { minLength: 1, maxLength: 20 },
  );
  it('nothing nearby is more likely, order does not matter, and right and wrong can change names', () => {
    fc.assert(
      fc.property(people, fc.constantFrom(0, 1 / 3, 1 / 2), (list: AssessorAnswers[], floor) => {
        const groups = groupAnswers(list);
        const fit = fitBetaBinomial({ groups, guessRate: floor });
        if (!fit) return;
        expect(fit.logLikelihood).toBeGreaterThanOrEqual(fit.logLikelihoodBinomial);
        for (const mu of [0.05, 0.2, 0.4, 0.6, 0.8, 0.95, fit.mu - 1e-3, fit.mu + 1e-3]) {
          for (const gamma of [0, 0.1, 0.3, 0.5, 0.7, 0.95, fit.gamma - 1e-3, fit.gamma + 1e-3]) {
            if (mu <= 0 || mu >= 1 || gamma < 0 || gamma >= 1) continue;
            const near = betaBinomialLogLikelihood({ groups, mu, gamma, guessRate: floor });
            expect(near).toBeLessThanOrEqual(fit.logLikelihood + 1e-7);
          }
        }
        expect(fitBetaBinomial({ groups: groupAnswers(list.toReversed()), guessRate: floor })).toEqual(fit);
        if (floor !== 0) return;
        const turned = list.map(({ answers, correct }) => ({ answers, correct: answers - correct }));
        const mirrored = fitBetaBinomial({ groups: groupAnswers(turned), guessRate: 0 });
        expectWithin(mirrored?.logLikelihood ?? null, fit.logLikelihood, 1e-8);
      }),
      { numRuns: 60 },
    );
  });

  it('refuses what cannot be', () => {
    expect(() => betaBinomial([{ answers: 3, correct: 4 }])).toThrowError(
      expect.objectContaining({ field: 'correct' }),
    );
    expect(() => taroneTest([{ answers: 51, correct: 4 }])).toThrowError(/answers/);
    expect(() => chanceCorrectedBetaBinomial({ clusters, guessRate: 0 })).toThrowError(StatsInputError);
    expect(() =>
      adjustedAgainstGuessing({ assessors: 3, replicates: 2, correct: 7, gamma: 0, guessRate: 0.5 }),
    ).toThrowError(/correct/);
  });
});
