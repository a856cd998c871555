import { describe, expect, it } from 'vitest';
import { encode } from 'uqr';
import { qrDrawing, QUIET_ZONE } from '../../web/src/lib/ui/qr-path.ts';

/** Paints the rectangles of a path back onto modules. */
function painted({ path, size }: { path: string; size: number }): boolean[][] {
  const modules = Array.from({ length: size }, () => Array.from({ length: size }, () => false));
  for (const [, x, y, width] of path.matchAll(/M(\d+) (\d+)h(\d+)v1h-\3z/g)) {
    for (let step = 0; step < Number(width); step += 1) {
      const row = modules[Number(y)];
      if (row) row[Number(x) + step] = true;
    }
  }
  return modules;
}

// A finder pattern of ISO/IEC 18004: dark ring of seven, light ring of five, dark square of three.
const FINDER = ['1111111', '1000001', '1011101', '1011101', '1011101', '1000001', '1111111'];

describe('QR code as a path', () => {
  const link = 'https://cellar.example/seat#AAAAAAAAAAAAAAAAAAAA-_';
  const drawing = qrDrawing(link);
  const modules = painted(drawing);

  it('paints every module of the code and no other', () => {
    const { data } = encode(link, { ecc: 'M', border: 0 });
    const inner = modules.slice(QUIET_ZONE, -QUIET_ZONE).map((row) => row.slice(QUIET_ZONE, -QUIET_ZONE));
    expect(inner).toEqual(data);
  });

  it('keeps four light modules on every side', () => {
    const edge = modules.flatMap((row, y) =>
      row.filter((_, x) => Math.min(x, y, drawing.size - 1 - x, drawing.size - 1 - y) < 4),
    );
    expect(edge.length).toBe(drawing.size ** 2 - (drawing.size - 8) ** 2);
    expect(edge.some(Boolean)).toBe(false);
  });

  it('has the size of a QR version and three finder patterns', () => {
    const bare = drawing.size - 2 * QUIET_ZONE;
    expect((bare - 17) % 4).toBe(0);
    const corner = (top: number, left: number): string[] =>
      modules.slice(top, top + 7).map((row) =>
        row
          .slice(left, left + 7)
          .map((dark) => (dark ? '1' : '0'))
          .join(''),
      );
    const far = drawing.size - QUIET_ZONE - 7;
    for (const [top, left] of [
      [QUIET_ZONE, QUIET_ZONE],
      [QUIET_ZONE, far],
      [far, QUIET_ZONE],
    ] as const) {
      expect(corner(top, left)).toEqual(FINDER);
    }
    expect(corner(far, far)).not.toEqual(FINDER);
  });
});
