import { finiteFrom, StatsInputError } from '../ground/input.ts';

/**
 * Density of air-free water at 101325 Pa, kg/m3, from 0 to 100 deg C.
 * Errors: StatsInputError. Source: Kell 1975, J. Chem. Eng. Data 20:97, equation 16 (as reproduced in public code).
 * Example: `waterDensity({ celsius: 20 })` is 998.20413220
 */
export function waterDensity({ celsius }: { celsius: number }): number {
  finiteFrom('celsius', celsius, 0);
  if (celsius > 100) throw new StatsInputError('celsius', celsius, 'at most 100');
  const t = celsius;
  const above =
    ((((-2.8054253e-10 * t + 1.0556302e-7) * t - 4.6170461e-5) * t - 7.9870401e-3) * t + 16.945176) * t +
    999.83952;
  return above / (1 + 1.687985e-2 * t);
}
