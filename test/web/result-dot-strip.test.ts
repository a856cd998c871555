import { describe, expect, it } from 'vitest';
import { dotStrip, labelAnchor, type DotStripLayout } from '../../web/src/lib/plot/dot-strip.ts';

const WIDTHS = [960, 350];
const COUNTS = [1, 2, 3, 12, 24, 25, 48, 100, 199, 400, 799, 800];

const draw = (answers: number, width: number, correct = Math.floor(answers / 2)): DotStripLayout =>
  dotStrip({ answers, correct, expected: answers / 3, critical: Math.ceil(answers / 2), width });

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
    expect(dots.filter(({ right }) => right)).toHaveLength(37);
    expect(dots.findIndex(({ right }) => !right)).toBe(37);
  });

  it('stands twelve answers in one row with the lines between dots, as many left of them as they say', () => {
    for (const width of WIDTHS) {
      const layout = dotStrip({ answers: 12, correct: 9, expected: 4, critical: 8, width });
      expect(layout.rows).toBe(1);
      const leftOf = (x: number | undefined): number => layout.dots.filter((dot) => dot.x < (x ?? 0)).length;
      expect(leftOf(layout.chance?.x)).toBe(4);
      expect(leftOf(layout.needed?.x)).toBe(8);
    }
  });

  it('steps around the dot that is enough where answers stand in columns', () => {
    const layout = dotStrip({ answers: 800, correct: 300, expected: 800 / 3, critical: 290, width: 960 });
    const steps = /^M([\d.]+) [\d.]+V([\d.]+)H([\d.]+)V/.exec(layout.needed?.path ?? '');
    const [far = 0, turn = 0, near = 0] = (steps ?? []).slice(1).map(Number);
    const inside = layout.dots.filter((dot) => dot.x < near || (dot.x < far && dot.y < turn));
    expect(inside).toHaveLength(290);
    expect(inside).toEqual(layout.dots.slice(0, 290));
  });

  it('draws no line that does not exist', () => {
    expect(
      dotStrip({ answers: 2, correct: 1, expected: 2 / 3, critical: null, width: 960 }).needed,
    ).toBeNull();
    expect(dotStrip({ answers: 0, correct: 0, expected: 0, critical: null, width: 960 }).chance).toBeNull();
  });

  it('anchors labels so that they stay on the drawing', () => {
    expect(labelAnchor(20, 960)).toBe('start');
    expect(labelAnchor(480, 960)).toBe('middle');
    expect(labelAnchor(950, 960)).toBe('end');
  });
});
