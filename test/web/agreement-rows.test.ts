import { describe, expect, it } from 'vitest';
import type { AssessorAgreement, PartAgreement } from '@oddglass/shared/contracts/result-agreement.ts';
import {
  agreementNumbers,
  coefficient,
  correlationsOf,
  factsOf,
  labelOf,
  matrixInWords,
  range,
} from '../../web/src/lib/result/agreement/agreement-rows.ts';
import { correlationMatrix } from '../../web/src/lib/result/agreement/correlation-matrix.ts';

const person = (assessor: string, correlations: (number | null)[]): AssessorAgreement => ({
  assessor,
  marks: 8,
  repeatability: null,
  discrimination: null,
  agreement: correlations.map((correlation, at) => ({ about: `attribute ${at + 1}`, correlation })),
  scale: null,
  overlap: null,
  findings: [],
  words: 'In step.',
});
const part = (assessors: AssessorAgreement[]): PartAgreement => ({
  part: 1,
  kind: 'rating',
  measures: [],
  assessors,
  overlap: null,
});

describe('rows of the agreement', () => {
  it('shows what is not there as a dash, and no interval without both ends', () => {
    expect(coefficient(null)).toBe('–');
    expect(coefficient(-0.123)).toBe('−0.12');
    expect(coefficient(-10.7)).toBe('<\u00a0−1');
    expect(range({ lower: 0.071, upper: 0.927 })).toBe('0.07 to 0.93');
    expect(range({ lower: null, upper: 0.9 })).toBeNull();
    expect(labelOf('a12')).toBe('A12');
  });
  it('gives the correlations by attribute and assessor, or none', () => {
    const found = correlationsOf(part([person('a1', [0.9, null]), person('a2', [-0.4, 0.2])]));
    expect(found).toEqual({
      attributes: ['attribute 1', 'attribute 2'],
      notes: ['', ''],
      assessors: ['A1', 'A2'],
      values: [
        [0.9, -0.4],
        [null, 0.2],
      ],
    });
    expect(matrixInWords(found!)).toContain('attribute 1: middle −0.40, below 0: A2');
    expect(correlationsOf(part([person('a1', [null])]))).toBeNull();
    expect(correlationsOf(part([]))).toBeNull();
  });
  it('says of a person what is known, and nothing else', () => {
    expect(factsOf(person('a1', []))).toEqual([]);
    const facts = factsOf({
      ...person('a1', []),
      repeatability: { standardDeviation: 4.26, degreesOfFreedom: 6, beside: 0.52 },
      discrimination: { p: 0.0004, withPattern: 0.00001, attributes: 2 },
      scale: { shift: -3.04, width: 1.2, atEnds: 0 },
    });
    expect(facts.map(({ name, value }) => `${name} ${value}`)).toEqual([
      'apart on the same liquid 4.3',
      'tells the samples apart p <\u00a00.001',
      'level 3.0',
      'width 1.20',
      'marks on the ends 0\u00a0%',
    ]);
    expect(facts[2]?.beside).toBe('below the others');
  });
  it('names the part of a number only where there are several', () => {
    const result = (parts: PartAgreement[]) =>
      agreementNumbers({ headline: '', parts, training: [], caveats: [], methods: [] }).map(
        ({ name }) => name,
      );
    const one = part([person('a1', [0.5])]);
    expect(result([one])).toEqual(['A1, correlation with the others, attribute 1']);
    expect(result([one, { ...one, part: 2 }])[1]).toBe(
      'part 2, A1, correlation with the others, attribute 1',
    );
  });
});

describe('matrix of correlations', () => {
  const sizes = [1, 3, 12, 40, 100];
  const values = (rows: number, columns: number) =>
    Array.from({ length: rows }, (_row, row) =>
      Array.from({ length: columns }, (_column, column) => Math.cos(row * 7 + column * 3)),
    );
  for (const width of [960, 350]) {
    for (const columns of sizes) {
      it(`${columns} assessors in ${width} units: every dot inside and apart`, () => {
        for (const names of [
          ['sour'],
          ['sour', 'a long name that does not fit beside its own row of dots'],
        ]) {
          const { cells, height } = correlationMatrix({
            rows: names,
            columns: Array.from({ length: columns }, (_unused, at) => `A${at + 1}`),
            values: values(names.length, columns),
            width,
          });
          expect(cells).toHaveLength(columns * names.length);
          for (const { x, y, radius } of cells) {
            expect(x - radius).toBeGreaterThanOrEqual(0);
            expect(x + radius).toBeLessThanOrEqual(width);
            expect(y - radius).toBeGreaterThanOrEqual(0);
            expect(y + 31).toBeLessThanOrEqual(height);
          }
          const places = new Set(cells.map(({ x, y }) => `${x} ${y}`));
          expect(places.size).toBe(cells.length);
        }
      });
    }
  }
  it('says beside a name what has to be said, and keeps dots clear of it', () => {
    const { rows, cells } = correlationMatrix({
      rows: ['sour'],
      notes: ['no common order'],
      columns: ['A1'],
      values: [[1]],
      width: 960,
    });
    expect(rows[0]).toMatchObject({ text: 'sour', note: 'no common order', below: true });
    expect(cells[0]!.x - cells[0]!.radius).toBeGreaterThan('no common order'.length * 7);
  });
  it('tells the sign by form and the size by area', () => {
    const [strong, weak, turned, none] = correlationMatrix({
      rows: ['sour'],
      columns: ['A1', 'A2', 'A3', 'A4'],
      values: [[0.8, 0.2, -0.8, null]],
      width: 960,
    }).cells;
    expect([strong, weak, turned, none].map((cell) => cell?.kind)).toEqual([
      'with',
      'with',
      'against',
      'none',
    ]);
    expect((strong!.radius / weak!.radius) ** 2).toBeCloseTo(4, 10);
    expect(turned!.radius).toBe(strong!.radius);
    expect(none!.text).toBe('–');
  });
});
