import { describe, expect, it } from 'vitest';
import { dotStrip, labelAnchor, legendOf, type DotStripLayout } from '../../web/src/lib/plot/dot-strip.ts';

const WIDTHS = [960, 350];
const COUNTS = [1, 2, 3, 12, 24, 25, 48, 100, 199, 400, 799, 800];

const draw = (answers: number, width: number, counted = Math.floor(answers / 2)): DotStripLayout =>
  dotStrip({ answers, counted, expected: answers / 3, critical: Math.ceil(answers / 2), width });

describe('dot strip', () => {
  for (const width of WIDTHS) {
    it(`draws every answer apart and inside ${width} units, from 1 to 800 answers`, () => {
      for (const answers of COUNTS) {
        const { dots, radius, height, top, bottom, rows } = draw(answers, width);
        expect(dots).toHaveLength(answers);
        for (const { x, y } of dots) {
          expect(x - radius).toBeGreaterThanOrEqual(0);
          expect(x + radius).toBeLessThanOrEqual(width);
          expect(y - radius).toBeGreaterThanOrEqual(top);
          expect(y + radius).toBeLessThanOrEqual(bottom);
        }
        const [first, below] = dots;
        const beside = dots[rows];
        if (first && below && rows > 1) expect(below.y - first.y).toBeGreaterThan(2 * radius);
        if (first && beside) expect(beside.x - first.x).toBeGreaterThan(2 * radius);
        expect(height).toBeLessThan(420);
      }
    });
  }

  it('puts the right answers first and fills exactly as many', () => {
    const { dots } = draw(100, 960, 37);
    expect(dots.filter(({ kind }) => kind === 'counted')).toHaveLength(37);
    expect(dots.findIndex(({ kind }) => kind !== 'counted')).toBe(37);
  });

  it('stands twelve answers in one row with the lines between dots, as many left of them as they say', () => {
    for (const width of WIDTHS) {
      const layout = dotStrip({ answers: 12, counted: 9, expected: 4, critical: 8, width });
      expect(layout.rows).toBe(1);
      const leftOf = (x: number | undefined): number => layout.dots.filter((dot) => dot.x < (x ?? 0)).length;
      expect(leftOf(layout.chance?.x)).toBe(4);
      expect(leftOf(layout.needed?.x)).toBe(8);
    }
  });

  it('steps around the dot that is enough where answers stand in columns', () => {
    const layout = dotStrip({ answers: 800, counted: 300, expected: 800 / 3, critical: 290, width: 960 });
    const steps = /^M([\d.]+) [\d.]+V([\d.]+)H([\d.]+)V/.exec(layout.needed?.path ?? '');
    const [far = 0, turn = 0, near = 0] = (steps ?? []).slice(1).map(Number);
    const inside = layout.dots.filter((dot) => dot.x < near || (dot.x < far && dot.y < turn));
    expect(inside).toHaveLength(290);
    expect(inside).toEqual(layout.dots.slice(0, 290));
  });

  it('draws no line that does not exist', () => {
    expect(
      dotStrip({ answers: 2, counted: 1, expected: 2 / 3, critical: null, width: 960 }).needed,
    ).toBeNull();
    expect(dotStrip({ answers: 0, counted: 0, expected: 0, critical: null, width: 960 }).chance).toBeNull();
  });

  it('draws answers outside of the test last, and leaves the lines where they count', () => {
    const layout = dotStrip({ answers: 20, counted: 14, apart: 5, expected: 10, critical: 15, width: 960 });
    expect(layout.dots.map(({ kind }) => kind)).toEqual([
      ...Array.from({ length: 14 }, () => 'counted'),
      ...Array.from({ length: 6 }, () => 'other'),
      ...Array.from({ length: 5 }, () => 'apart'),
    ]);
    const leftOf = (x: number | undefined): number => layout.dots.filter((dot) => dot.x < (x ?? 0)).length;
    expect(leftOf(layout.chance?.x)).toBe(10);
    expect(leftOf(layout.needed?.x)).toBe(15);
  });

  it('keeps the legend on the drawing, whatever arms are called', () => {
    const long = 'for a name that is as long as any name of an arm can be made, or longer';
    for (const width of WIDTHS) {
      const { entries, lines } = legendOf(
        [
          { kind: 'counted', text: long },
          { kind: 'other', text: 'for Cool' },
          { kind: 'apart', text: 'no preference' },
        ],
        width,
      );
      for (const { x, text } of entries) expect(x + 20 + 8 * text.length).toBeLessThanOrEqual(width);
      expect(Math.max(...entries.map(({ line }) => line)) + 1).toBe(lines);
    }
    expect(
      legendOf(
        [
          { kind: 'counted', text: '9 right' },
          { kind: 'other', text: '3 not right' },
        ],
        350,
      ).lines,
    ).toBe(1);
  });

  it('anchors labels so that they stay on the drawing', () => {
    expect(labelAnchor(20, 960)).toBe('start');
    expect(labelAnchor(480, 960)).toBe('middle');
    expect(labelAnchor(950, 960)).toBe('end');
  });
});
