import { describe, expect, it } from 'vitest';
import { id } from '@oddglass/shared/contracts/common.ts';
import { readFragment, readTyped } from '../../web/src/lib/seat/door/arrival.ts';
import { randomId } from '../../web/src/lib/seat/door/random-id.ts';

const TOKEN = 'abcDEF_-0123456789xyzQ';

describe('the way in', () => {
  it('a QR leads to the tasting, a seat link to the seat, nothing to the code', () => {
    expect(readFragment(`#${TOKEN}`)).toEqual({ kind: 'join', input: { token: TOKEN } });
    expect(readFragment(`#seat.${TOKEN}`)).toEqual({ kind: 'seat', seatToken: TOKEN });
    expect(readFragment(`#move.${TOKEN}`)).toEqual({ kind: 'move', moveToken: TOKEN });
    expect(readFragment('')).toEqual({ kind: 'bare' });
    expect(readFragment('#')).toEqual({ kind: 'bare' });
  });

  it('half a link is called broken', () => {
    for (const hash of ['#abc', '#seat.', '#seat.abc', `#${TOKEN}!`, `#seat.seat.${TOKEN}`]) {
      expect(readFragment(hash), hash).toEqual({ kind: 'broken-link' });
    }
  });

  it('forgives spaces, dots, dashes, lower case and wide letters in a code', () => {
    const code = { kind: 'join', input: { code: 'ACDE3479' } };
    for (const typed of [
      'ACDE3479',
      'acde3479',
      ' acde 3479 ',
      'ACDE · 3479',
      'acde.3479',
      'ac-de–34_79',
      'ＡＣＤＥ３４７９',
    ]) {
      expect(readTyped(typed), typed).toEqual(code);
    }
  });

  it('refuses what cannot be a code, and takes a pasted link', () => {
    for (const typed of ['', 'ACDE347', 'ACDE34799', 'ÄCDE3479', 'http://host/seat#abc']) {
      expect(readTyped(typed), typed).toBeNull();
    }
    expect(readTyped(`http://host:8080/seat#${TOKEN}`)).toEqual({ kind: 'join', input: { token: TOKEN } });
    expect(readTyped(`http://host/seat#seat.${TOKEN} `)).toEqual({ kind: 'seat', seatToken: TOKEN });
    expect(readTyped(`http://host/seat#move.${TOKEN}`)).toEqual({ kind: 'move', moveToken: TOKEN });
  });
});

describe('ids made on the device', () => {
  it('are version 4 UUIDs whatever the bytes (RFC 9562)', () => {
    for (const byte of [0x00, 0xff, 0x5a]) {
      const made = randomId((bytes) => bytes.fill(byte));
      expect(id.safeParse(made).success, made).toBe(true);
      expect(made[14]).toBe('4');
      expect('89ab').toContain(made[19]);
    }
  });

  it('use all other bits', () => {
    expect(randomId((bytes) => bytes.fill(0))).toBe('00000000-0000-4000-8000-000000000000');
    expect(randomId((bytes) => bytes.fill(255))).toBe('ffffffff-ffff-4fff-bfff-ffffffffffff');
  });
});
