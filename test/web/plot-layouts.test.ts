import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { lineLayout, mapLayout } from '../../web/src/lib/plot/profile-map.ts';
import { rankLayout } from '../../web/src/lib/plot/rank-dots.ts';
import { fitted, sampleLegend, sampleMark, textWidth } from '../../web/src/lib/plot/sample-marks.ts';
import { MAX_LANES, sharesLayout } from '../../web/src/lib/plot/word-shares.ts';

const WIDTHS = [350, 960];
const names = (count: number) => Array.from({ length: count }, (_unused, index) => `Sample ${index + 1}`);
const share = (checked: number, asked = 12) => ({
  checked,
  asked,
  share: asked === 0 ? null : checked / asked,
  lower: Math.max(0, checked / 12 - 0.2),
  upper: Math.min(1, checked / 12 + 0.2),
});

describe('marks of samples', () => {
  test('twelve samples have twelve different marks', () => {
    const marks = names(12).map((_name, place) => {
      const { path, fill, stroke } = sampleMark(place, 0, 0, 6);
      return `${path} ${fill} ${stroke}`;
    });
    expect(new Set(marks).size).toBe(12);
    // By shape and filling alone too, for whom hues are alike.
    const hueless = names(12).map((_name, place) => {
      const { path, fill } = sampleMark(place, 0, 0, 6);
      return `${path} ${fill === 'var(--paper)'}`;
    });
    expect(new Set(hueless).size).toBe(12);
  });

  test('a legend wraps within the drawing, long names are cut', () => {
    const { entries, height } = sampleLegend([...names(7), 'x'.repeat(80)], 350);
    for (const { x, y, name } of entries) {
      expect(x + 20 + textWidth(name)).toBeLessThanOrEqual(350 + 8);
      expect(y).toBeLessThan(height);
    }
    expect(fitted('a long name of a sample', 80)).toMatch(/…$/);
  });
});

describe('shares of words', () => {
  test.each(WIDTHS)('few samples have lines of their own with intervals and counts, %d wide', (width) => {
    const rows = [{ name: 'smoky', shares: [share(0), share(12), share(3, 0)] }];
    const layout = sharesLayout({ rows, samples: names(3), width });
    const marks = layout.rows[0]?.marks ?? [];
    expect(marks.map(({ place }) => place)).toEqual([0, 1]);
    expect(marks.map(({ count }) => count)).toEqual(['0 of 12', '12 of 12']);
    expect(marks[0]?.x).toBe(layout.left);
    expect(marks[1]?.x).toBe(layout.right);
    expect(marks.every(({ from, to, x }) => from !== null && to !== null && from <= x && x <= to)).toBe(true);
  });

  test.each(WIDTHS)('many samples on one line never cover each other, %d wide', (width) => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 12 }), { minLength: MAX_LANES + 1, maxLength: 12 }),
        (counts) => {
          const rows = [{ name: 'sour', shares: counts.map((count) => share(count)) }];
          const layout = sharesLayout({ rows, samples: names(counts.length), width });
          const marks = layout.rows[0]?.marks ?? [];
          for (const [index, one] of marks.entries()) {
            for (const other of marks.slice(index + 1)) {
              expect(Math.max(Math.abs(one.x - other.x), Math.abs(one.y - other.y))).toBeGreaterThan(12);
            }
            expect(one.y).toBeGreaterThan(layout.rows[0]?.top ?? 0);
            expect(one.y).toBeLessThan(layout.rows[0]?.bottom ?? 0);
          }
        },
      ),
    );
  });
});

describe('the map', () => {
  const point = fc.record({
    name: fc.constantFrom('smoky', 'sour', 'green apple', 'bread crust'),
    x: fc.double({ min: -2, max: 2, noNaN: true }),
    y: fc.double({ min: -2, max: 2, noNaN: true }),
  });

  test.each(WIDTHS)('holds all points, one scale for both axes, names that do not meet, %d wide', (width) => {
    fc.assert(
      fc.property(
        fc.array(point, { minLength: 2, maxLength: 8 }),
        fc.array(point, { maxLength: 30 }),
        (samples, words) => {
          const placed = samples.map((sample, place) => ({ ...sample, place }));
          const layout = mapLayout({ samples: placed, words, ellipses: [], width });
          for (const { x, y } of [...layout.samples, ...layout.words]) {
            expect(x).toBeGreaterThanOrEqual(0);
            expect(x).toBeLessThanOrEqual(width);
            expect(y).toBeGreaterThanOrEqual(0);
            expect(y).toBeLessThanOrEqual(layout.height);
          }
          const [a, b] = [placed[0], placed[1]];
          const [p, q] = [layout.samples[0], layout.samples[1]];
          if (a && b && p && q) {
            const across = (q.x - p.x) * (b.y - a.y);
            const upward = -(q.y - p.y) * (b.x - a.x);
            expect(Math.abs(across - upward)).toBeLessThan(0.2);
          }
          const boxes = [...layout.samples, ...layout.words].flatMap(({ label }) => {
            if (!label) return [];
            const wide = textWidth(label.text);
            const left = { start: label.x, middle: label.x - wide / 2, end: label.x - wide }[label.anchor];
            return [{ left, right: left + wide, y: label.y }];
          });
          for (const [index, one] of boxes.entries()) {
            for (const other of boxes.slice(index + 1)) {
              const apart =
                one.right <= other.left + 0.1 ||
                other.right <= one.left + 0.1 ||
                Math.abs(one.y - other.y) >= 16.9;
              expect(apart).toBe(true);
            }
          }
        },
      ),
      { numRuns: 60 },
    );
  });

  test('an ellipse keeps its half axes', () => {
    const layout = mapLayout({
      samples: [
        { name: 'a', place: 0, x: -1, y: 0 },
        { name: 'b', place: 1, x: 1, y: 0 },
      ],
      words: [],
      ellipses: [{ place: 0, centre: [0, 0], halfAxes: [0.5, 0.25], angle: Math.PI / 2 }],
      width: 960,
    });
    const scale = Math.abs((layout.samples[1]?.x ?? 0) - (layout.samples[0]?.x ?? 0)) / 2;
    const corners = (layout.ellipses[0]?.path ?? '')
      .replace(/[MZ]/g, '')
      .split('L')
      .map((pair) => pair.split(' ').map(Number));
    const reach = (axis: 0 | 1) =>
      Math.max(...corners.map((at) => at[axis] ?? 0)) - Math.min(...corners.map((at) => at[axis] ?? 0));
    expect(reach(0) / scale).toBeCloseTo(0.5, 1);
    expect(reach(1) / scale).toBeCloseTo(1, 1);
  });

  test.each(WIDTHS)('one axis: names on rows that do not meet, %d wide', (width) => {
    fc.assert(
      fc.property(fc.array(point, { minLength: 1, maxLength: 20 }), (words) => {
        const layout = lineLayout({
          samples: [
            { name: 'Cool', place: 0, x: -1 },
            { name: 'Warm', place: 1, x: 1 },
          ],
          words,
          width,
        });
        for (const { nameY } of layout.samples) expect(nameY).toBeLessThan(layout.axisY);
        for (const { nameY, x } of layout.words) {
          expect(nameY).toBeGreaterThan(layout.axisY);
          expect(nameY).toBeLessThanOrEqual(layout.height);
          expect(x).toBeGreaterThanOrEqual(0);
          expect(x).toBeLessThanOrEqual(width);
        }
      }),
    );
  });
});

describe('ranks', () => {
  test.each(WIDTHS)('highest mean rank first, on a scale from 1 to all, %d wide', (width) => {
    const row = (place: number, meanRank: number) => ({
      name: `Sample ${place}`,
      place,
      meanRank,
      sum: '1',
      letters: null,
      ranks: [{ rank: 1, people: 3 }],
    });
    const layout = rankLayout({
      rows: [row(0, 1), row(1, 4), row(2, 2.5)],
      highest: 4,
      critical: 1.5,
      width,
    });
    expect(layout.rows.map(({ place }) => place)).toEqual([1, 2, 0]);
    expect(layout.rows.map(({ x }) => x)).toEqual([
      layout.right,
      (layout.left + layout.right) / 2,
      layout.left,
    ]);
    expect((layout.critical?.to ?? 0) - (layout.critical?.from ?? 0)).toBeCloseTo(
      (layout.right - layout.left) / 2,
    );
    expect(layout.ticks.at(0)?.x).toBe(layout.left);
  });
});
