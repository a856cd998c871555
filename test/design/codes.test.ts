import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { CODE_POOL, drawCodes, drawTrayCodes, nearTwins } from '@oddglass/shared/design/codes.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { chiSquare, seedOf, UPPER_MILLIONTH } from './chance.ts';

const draw = (number: number, seats: readonly number[]) => drawCodes(seededRandom(seedOf(number)), seats);

describe('the pool', () => {
  test('holds every three-digit number that says nothing, and no other', () => {
    // Counted on paper: 9 * 9 * 8 = 648 with three digits that differ, less 7 runs up (123 to 789),
    // less 8 runs down (987 to 210), less 7 that mean something to many.
    expect(CODE_POOL).toHaveLength(648 - 7 - 8 - 7);
    expect(new Set(CODE_POOL).size).toBe(CODE_POOL.length);
    expect(CODE_POOL[0]).toBe('102');
    expect(CODE_POOL.at(-1)).toBe('986');
    for (const code of CODE_POOL) {
      expect(code).toMatch(/^[1-9]\d\d$/);
      expect(new Set(code).size).toBe(3);
    }
  });

  test.each([
    ...['100', '200', '300', '400', '500', '600', '700', '800', '900'],
    ...['111', '666', '777', '999', '112', '911', '404', '101', '707', '118'],
    ...['123', '234', '345', '456', '567', '678', '789'],
    ...['987', '876', '765', '654', '543', '432', '321', '210'],
    ...['420', '187', '247', '365', '360', '180', '720', '012', '99', '1024'],
  ])('has no %s', (code) => {
    expect(CODE_POOL).not.toContain(code);
  });

  test.each(['102', '135', '139', '246', '482', '719', '986'])('has %s', (code) => {
    expect(CODE_POOL).toContain(code);
  });
});

describe('codes drawn for a session', () => {
  test('are all different as long as the pool lasts, then come back, each pool of them once', () => {
    fc.assert(
      fc.property(fc.array(fc.nat(12), { maxLength: 250 }), fc.nat(), (seats, number) => {
        const codes = draw(number, seats);
        expect(codes.map((seat) => seat.length)).toEqual(seats);
        const flat = codes.flat();
        expect(flat.every((code) => CODE_POOL.includes(code))).toBe(true);
        expect(new Set(flat.slice(0, CODE_POOL.length)).size).toBe(Math.min(flat.length, CODE_POOL.length));
        for (const seat of codes) expect(new Set(seat).size).toBe(seat.length);
      }),
      { numRuns: 60 },
    );
  });

  test('no code is ever twice at one seat, with 200 seats and 12 cups each', () => {
    for (let number = 0; number < 15; number++) {
      const codes = draw(number, Array<number>(200).fill(12));
      for (const seat of codes) expect(new Set(seat).size).toBe(12);
      // 2400 cups from 626 codes: no code is used more than one time above or below the others.
      const counts = CODE_POOL.map((code) => codes.flat().filter((other) => other === code).length);
      expect(Math.max(...counts) - Math.min(...counts)).toBeLessThanOrEqual(1);
    }
  });

  test('even a seat that empties the pool gets what is left of it and then others', () => {
    const [most, rest] = draw(3, [CODE_POOL.length - 2, 5]) as [string[], string[]];
    const left = CODE_POOL.filter((code) => !most.includes(code));
    expect(rest.slice(0, 2).toSorted()).toEqual(left.toSorted());
    expect(new Set(rest).size).toBe(5);
    const [whole] = draw(4, [CODE_POOL.length]) as [string[]];
    expect(whole.toSorted()).toEqual(CODE_POOL);
  });

  test('come in no order: the first code of a session is any of the pool', () => {
    const hundreds = new Array<number>(9).fill(0);
    const first = new Map<string, number>();
    for (let number = 0; number < 2_000; number++) {
      const code = draw(number, [1])[0]?.[0] ?? '';
      first.set(code, (first.get(code) ?? 0) + 1);
      const hundred = Number(code[0]) - 1;
      hundreds[hundred] = (hundreds[hundred] ?? 0) + 1;
    }
    // 2000 draws of 626 leave 626 * exp(-2000 / 626), about 26, untouched.
    expect(first.size).toBeGreaterThan(580);
    const shares = hundreds.map(
      (_, at) => CODE_POOL.filter((code) => code.startsWith(`${at + 1}`)).length / CODE_POOL.length,
    );
    expect(chiSquare(hundreds, shares)).toBeLessThan(UPPER_MILLIONTH[8]);
  });

  test.each([-1, 1.5, Number.NaN, CODE_POOL.length + 1])('refuses %d cups at a seat', (cups) => {
    expect(() => draw(1, [3, cups])).toThrow(RangeError);
  });
});

/** Written anew, by what people mix up: one digit misread, or two of them in each other's place. */
const lookAlike = (a: string, b: string): boolean => {
  const misread = [0, 1, 2].some((at) =>
    Array.from('0123456789').some(
      (digit) => digit !== a[at] && a.slice(0, at) + digit + a.slice(at + 1) === b,
    ),
  );
  const [x = '', y = '', z = ''] = a;
  return misread || [y + x + z, x + z + y, z + y + x].includes(b);
};
const twinsOn = (tray: readonly string[]): string[] =>
  tray.flatMap((code, at) =>
    tray.slice(at + 1).flatMap((other) => (lookAlike(code, other) ? [`${code} ${other}`] : [])),
  );
const drawTrays = (number: number, seats: readonly (readonly number[])[]) =>
  drawTrayCodes(seededRandom(seedOf(number)), seats);

describe('codes on trays', () => {
  test('near-twins are a digit apart, or have two digits swapped', () => {
    for (const code of ['486', '102', '986', '739'])
      for (const other of CODE_POOL)
        expect(nearTwins(code, other), `${code} ${other}`).toBe(lookAlike(code, other));
  });

  test('no tray holds near-twins, no seat a code twice, and no pool a code twice, whatever the session', () => {
    const seat = fc.array(fc.integer({ min: 1, max: 12 }), { minLength: 1, maxLength: 5 });
    fc.assert(
      fc.property(fc.array(seat, { minLength: 1, maxLength: 120 }), fc.nat(), (seats, number) => {
        const codes = drawTrays(number, seats);
        expect(codes.map((trays) => trays.map((tray) => tray.length))).toEqual(seats);
        for (const trays of codes) {
          expect(trays.flatMap(twinsOn)).toEqual([]);
          expect(new Set(trays.flat()).size).toBe(trays.flat().length);
        }
        const flat = codes.flat(2);
        for (let start = 0; start < flat.length; start += CODE_POOL.length) {
          const round = flat.slice(start, start + CODE_POOL.length);
          expect(new Set(round).size).toBe(round.length);
        }
        const counts = new Map(CODE_POOL.map((code) => [code, 0]));
        for (const code of flat) counts.set(code, (counts.get(code) ?? 0) + 1);
        expect(counts.size).toBe(CODE_POOL.length);
        expect(Math.max(...counts.values()) - Math.min(...counts.values())).toBeLessThanOrEqual(1);
      }),
      { numRuns: 60 },
    );
  });

  test('a session that takes the whole pool, or ends one short of it, still has none on one tray', () => {
    for (const sizes of [
      [...Array<number>(208).fill(3), 2],
      [...Array<number>(52).fill(12), 2],
      [...Array<number>(52).fill(12), 1],
    ]) {
      const codes = drawTrays(
        sizes.length + (sizes.at(-1) ?? 0),
        sizes.map((size) => [size]),
      ).flat();
      expect(codes.flatMap(twinsOn)).toEqual([]);
      expect(new Set(codes.flat()).size).toBe(codes.flat().length);
    }
    // Drawn without regard to it, a tray of three has some in one of nine.
    const plain = draw(5, Array<number>(208).fill(3));
    expect(plain.filter((tray) => twinsOn(tray).length > 0).length).toBeGreaterThan(8);
  });

  test('every place on a tray has larger and smaller codes equally often, and any hundred', () => {
    const hundreds = [0, 1, 2].map(() => new Array<number>(9).fill(0));
    const ranks = new Array<number>(6).fill(0);
    for (let number = 0; number < 400; number++) {
      for (const [tray] of drawTrays(number, Array<number[]>(12).fill([3]))) {
        const [a = '', b = '', c = ''] = tray ?? [];
        [a, b, c].forEach((code, place) => {
          const row = hundreds[place] as number[];
          row[Number(code[0]) - 1] = (row[Number(code[0]) - 1] ?? 0) + 1;
        });
        const order = [a < b, b < c, a < c].map(Number).join('');
        const at = ['111', '101', '011', '100', '010', '000'].indexOf(order);
        ranks[at] = (ranks[at] ?? 0) + 1;
      }
    }
    expect(ranks.reduce((sum, count) => sum + count, 0)).toBe(4_800);
    expect(chiSquare(ranks)).toBeLessThan(UPPER_MILLIONTH[5]);
    const shares = Array.from(
      { length: 9 },
      (_, at) => CODE_POOL.filter((code) => code.startsWith(`${at + 1}`)).length / CODE_POOL.length,
    );
    for (const row of hundreds) expect(chiSquare(row, shares)).toBeLessThan(UPPER_MILLIONTH[8]);
  });
});
