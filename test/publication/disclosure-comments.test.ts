import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { scanComment } from '@oddglass/shared/publication/comments.ts';

// All names and addresses are invented; the domains are those of RFC 2606, the numbers those kept for fiction.
const NAMES = ['Zoë Quill', 'Ama Thornby', 'Bo'];
const kinds = (line: string): string[] =>
  [...new Set(scanComment(line, NAMES).map(({ kind }) => kind))].sort();

describe('a line of a comment', () => {
  test.each<[string, string[]]>([
    ['Zoe liked this one more', ['name']],
    ['ZOË’s favourite', ['name']],
    ['as Thornby said', ['name']],
    ['Anne-Zoe would love it', ['name']],
    ['write to ama@example.org', ['mail', 'name']],
    ['me (at) example.com', ['address', 'mail']],
    ['more on https://example.org/p?x=1', ['address']],
    ['see www.example.net', ['address']],
    ['call 555 0123 456', ['phone']],
    ['+44 (0)20 7946 0958', ['phone']],
    ['find me @quillbrew', ['handle']],
    ['cup 417 was best', ['code']],
    ['I sat at seat 4', ['code']],
    ['my wife would hate it', ['person']],
    ['I’m pregnant, so a small sip', ['person']],
    ['I am a brewer and know this', ['person']],
    ['tasted for Mrs Abernethy', ['person']],
    ['Cheers, Abelard', ['person']],
    ['like Abelard’s cider', ['person']],
  ])('%s: %j', (line, found) => {
    expect(kinds(line)).toEqual(expect.arrayContaining(found));
  });

  test.each([
    'Green apple, a little thin at the end.',
    'Rounder than the others, honey and hay',
    'About 5 % alcohol, I guess; 330 ml would be too much.',
    'More bitter at 22 °C? Fermented 14 days.',
    'Bold and boozy', // 'Bo' is too short a name to look for inside of words.
    'zoesome is no name',
    '7.5 out of 10',
    '',
  ])('%s: nothing to look at', (line) => {
    expect(scanComment(line, NAMES)).toEqual([]);
  });

  test('whatever it holds, it is read, and what was found stands in it', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme', maxLength: 500 }), fc.array(fc.string()), (line, names) => {
        for (const { found, why } of scanComment(line, names)) {
          expect(line).toContain(found);
          expect(why).not.toBe('');
        }
      }),
    );
  });

  test('a mail address of any form of letters is found', () => {
    fc.assert(
      fc.property(fc.emailAddress(), (mail) => {
        expect(kinds(`reach me: ${mail} !`)).toContain('mail');
      }),
    );
  });

  test.each([['1 '], ['a.'], ['@'], ['my '], ['(((('], ['. '], ['a@b.']])(
    'reading eight times as much of %j costs less than 8 cubed times as much',
    (piece) => {
      // Patterns that try every way of reading grow faster than any power. The best of runs: others work here too.
      const best = (times: number): number => {
        const text = piece.repeat(times);
        const runs = Array.from({ length: 7 }, () => {
          const started = performance.now();
          scanComment(text, NAMES);
          return performance.now() - started;
        });
        return Math.min(...runs);
      };
      best(125);
      expect(best(1000) / best(125)).toBeLessThan(8 ** 3);
    },
  );
});
