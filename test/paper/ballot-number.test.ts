import {
  ballotNumber,
  checkDigit,
  groupedNumber,
  readBallotNumber,
} from '@oddglass/shared/paper/ballot-number.ts';
import { expect, test } from 'vitest';

const ROOT = `0a1b2c3d4e5f${'0'.repeat(52)}`;

test('the check digit is that of ISO/IEC 7064, MOD 11,10', () => {
  // Examples of python-stdnum 2.1, stdnum.iso7064.mod_11_10: from memory, and worked by hand below.
  expect(checkDigit('79462')).toBe('3');
  expect(checkDigit('00200667308')).toBe('5');
  // By hand, '12': (10+1)%10=1, 2*1%11=2; (2+2)%10=4, 2*4%11=8; 11-8=3.
  expect(checkDigit('12')).toBe('3');
});

test('every seat has a number of its own, and it leads back to the seat', () => {
  const numbers = Array.from({ length: 300 }, (_, at) => ballotNumber(ROOT, at + 1));
  expect(new Set(numbers).size).toBe(300);
  numbers.forEach((number, at) => {
    expect(number).toMatch(/^\d{7}$/);
    expect(readBallotNumber(number, ROOT)).toEqual({ seat: at + 1 });
    expect(readBallotNumber(groupedNumber(number), ROOT)).toEqual({ seat: at + 1 });
  });
});

test('every single wrong digit is noticed', () => {
  for (const seat of [1, 12, 300]) {
    const number = ballotNumber(ROOT, seat);
    for (let at = 0; at < 7; at++) {
      for (let digit = 0; digit < 10; digit++) {
        if (String(digit) === number[at]) continue;
        const wrong = number.slice(0, at) + digit + number.slice(at + 1);
        expect(readBallotNumber(wrong, ROOT)).toHaveProperty('trouble');
      }
    }
  }
});

test('a ballot of another tasting is told as that, and half a number as half', () => {
  const other = `ffffffffffff${'0'.repeat(52)}`;
  expect(readBallotNumber(ballotNumber(other, 3), ROOT)).toEqual({
    trouble: 'This ballot belongs to another tasting.',
  });
  expect(readBallotNumber('12', ROOT)).toEqual({ trouble: 'A ballot number has seven digits.' });
});
