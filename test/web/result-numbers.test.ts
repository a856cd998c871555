import { describe, expect, it } from 'vitest';
import {
  asChosen,
  countOf,
  decimals,
  fullPrecision,
  percent,
  percentRange,
  pValue,
} from '../../web/src/lib/text/numbers.ts';

const plain = (shown: string): string => shown.replaceAll('\u00a0', ' ');

describe('numbers on a result page', () => {
  it('shows p with three decimals and never as 0.000', () => {
    expect(pValue(0.0039)).toBe('0.004');
    expect(pValue(0.05)).toBe('0.050');
    expect(pValue(1)).toBe('1.000');
    expect(plain(pValue(0.000999))).toBe('< 0.001');
    expect(plain(pValue(3e-300))).toBe('< 0.001');
    expect(pValue(0.001)).toBe('0.001');
  });

  it('writes shares as whole percent and does not round to none or all', () => {
    expect(plain(percent(0.6317))).toBe('63 %');
    expect(plain(percent(0))).toBe('0 %');
    expect(plain(percent(1))).toBe('100 %');
    expect(plain(percent(0.0001))).toBe('< 1 %');
    expect(plain(percent(0.9999))).toBe('> 99 %');
    expect(plain(percentRange(0.2089, 0.8921))).toBe('21 to 89 %');
    expect(plain(percentRange(0, 1))).toBe('0 to 100 %');
  });

  it('keeps a true minus sign and no minus before a rounded zero', () => {
    expect(decimals(-0.5, 2)).toBe('\u22120.50');
    expect(decimals(-0.0001, 2)).toBe('0.00');
    expect(decimals(1234.5, 1)).toBe('1,234.5');
  });

  it('shows counts whole and expected counts with one decimal', () => {
    expect(countOf(8)).toBe('8');
    expect(countOf(50 / 3)).toBe('16.7');
    expect(asChosen(0.1)).toBe('0.1');
    expect(asChosen(0.05)).toBe('0.05');
  });

  it('keeps every digit where digits are asked for', () => {
    expect(Number(fullPrecision(0.1 + 0.2))).toBe(0.1 + 0.2);
    expect(fullPrecision(null)).toBe('none');
  });
});
