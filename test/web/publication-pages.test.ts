import { crc32, deflateSync, inflateSync } from 'node:zlib';
import type { Publication, PublishedServing } from '@oddglass/shared/contracts/publication.ts';
import type { PartResult } from '@oddglass/shared/contracts/result.ts';
import type { ReceiptView } from '@oddglass/shared/contracts/receipt.ts';
import { verifyPublication } from '@oddglass/shared/publication/verify.ts';
import { describe, expect, test } from 'vitest';
import { grouped, shortened, verdictWords } from '../../web/src/lib/publication/checks.ts';
import {
  monthWords,
  pagePart,
  pagePartName,
  sealedSettings,
  toldOfPart,
} from '../../web/src/lib/publication/facts.ts';
import { linksOf } from '../../web/src/lib/publication/links.ts';
import { partWords, setUpWords, statisticsOf } from '../../web/src/lib/publication/method-words.ts';
import { panelWords } from '../../web/src/lib/publication/panel-words.ts';
import { letterDots } from '../../web/src/lib/publication/picture-letters.ts';
import { PICTURE, pictureOf, pixelsOf } from '../../web/src/lib/publication/picture.ts';
import { pngOf } from '../../web/src/lib/publication/png.ts';
import { receiptBlocks } from '../../web/src/lib/receipt/receipt-words.ts';
import { gapWord, standingOf, untoldInWords } from '../../web/src/lib/result/told.ts';
import { fixturePublication } from '../publication/package-fixture.ts';

// What the pages of a publication say, from an invented publication that touches every kind of part.

const publication = fixturePublication();
const nameOf = (armId: string): string => publication.arms.find(({ id }) => id === armId)?.name ?? '?';

describe('methods in sentences', () => {
  test('each session says what was sealed of it', () => {
    for (const session of publication.sessions) {
      const { cupMl, assessors } = sealedSettings(session);
      const words = setUpWords(publication, session);
      expect(words).toContain(`${cupMl} mL`);
      expect(words).toContain(session.seal.fingerprint);
      expect(words).toContain(session.blinding === 'double' ? 'double-blind' : 'single-blind');
      expect(assessors).toBeGreaterThan(0);
      expect(words).not.toMatch(/undefined|null|NaN/);
    }
    const [session] = publication.sessions;
    if (!session) throw new Error('no session');
    expect(setUpWords(publication, { ...session, blinding: 'single' })).toContain('the host had the key');
  });

  test('how it was served is told as far as it is known, and denied only where nobody noted it', () => {
    const [session] = publication.sessions;
    if (!session) throw new Error('no session');
    const plain: PublishedServing = {
      masking: false,
      note: '',
      cupMl: 30,
      restSeconds: 0,
      smellOnly: false,
      stopped: false,
    };
    const wordsOf = (change: Partial<PublishedServing>): string =>
      setUpWords(publication, { ...session, serving: { ...plain, ...change } });
    expect(wordsOf({})).toContain('The room, its light and the temperature of the cups were not recorded.');
    expect(wordsOf({ temperatureC: 8.5 })).toContain('The cups were served at 8.5 °C.');
    expect(wordsOf({ temperatureC: 8.5 })).not.toMatch(/temperature of the cups were not|Nobody measured/);
    expect(wordsOf({ temperatureC: null })).toContain('Nobody measured how warm the cups were.');
    expect(wordsOf({ masking: true })).toContain('Seats started in masking light.');
    const noted = wordsOf({ note: 'Cellar, 8 °C, red light.' });
    expect(noted).toContain('Whoever poured was told: “Cellar, 8 °C, red light.”');
    expect(noted).not.toContain('not recorded');
    expect(wordsOf({ note: null })).toContain('left out by the host');
    expect(wordsOf({ note: null })).not.toContain('not recorded');
    expect(wordsOf({ looks: 'differ' })).toContain('The arms looked different in the cups.');
    const { serving: _serving, ...older } = session;
    expect(setUpWords(publication, older)).toContain('are not told in this publication');
  });

  test('who knew the key is told by how often it was opened', () => {
    const [session] = publication.sessions;
    if (!session) throw new Error('no session');
    const { keyReaders: _readers, ...untold } = session;
    expect(setUpWords(publication, untold)).toContain('how many accounts opened it was not written down');
    const none = setUpWords(publication, { ...session, keyReaders: { accounts: 0, invited: 0 } });
    expect(none).toContain(
      'No account opened the key before the reveal; who poured, and by what, was not recorded.',
    );
    const one = setUpWords(publication, { ...session, keyReaders: { accounts: 1, invited: 0 } });
    expect(one).toContain(
      'Whoever poured saw which sample belonged in which cup. One account opened the key',
    );
  });

  test('each part says its question, its alpha and what was left open', () => {
    for (const session of publication.sessions) {
      for (const part of session.parts) {
        const words = partWords(part, session, nameOf);
        expect(words).not.toMatch(/undefined|null|NaN|\?\?/);
        expect(words).toMatch(/fixed (at|beforehand)/);
        if ('armIds' in part.settings) {
          for (const armId of part.settings.armIds) expect(words).toContain(nameOf(armId));
        }
        expect(words.includes('left open')).toBe(part.served.unanswered > 0);
      }
    }
  });

  test('statistics are named once, each with a source', () => {
    const list = statisticsOf(publication);
    expect(new Set(list.map(({ name }) => name)).size).toBe(list.length);
    for (const { source } of list) expect(source).not.toBe('');
  });

  test('the panel is told in aggregate, with who withdrew', () => {
    const [session] = publication.sessions;
    if (!session) throw new Error('no session');
    const words = panelWords({ ...session, seated: 14, assessors: 11, withdrawn: 3, tier: 'full' });
    expect(words).toContain('14 assessors took a seat, 11 of them answered.');
    expect(words).toContain('Three assessors withdrew what they said');
    expect(panelWords({ ...session, tier: 'agreed' })).toContain('one small group’s word');
  });
});

test('parts of several sessions have anchors of their own, and the names that the data give them', () => {
  expect(pagePart(1, 2)).toBe(2);
  expect(pagePartName(1)(pagePart(1, 2))).toBe('Part 2');
  expect(pagePartName(3)(pagePart(3, 1))).toBe('Session 3, part 1');
  expect(monthWords('2031-03')).toBe('March 2031');
});

test('links of an old version keep its number, those of the newest do not', () => {
  const versions = [1, 2].map((version) => ({ version, publishedOn: '2031-03-20', etag: 'a'.repeat(64) }));
  const view = { address: 'warm', listed: false, panelId: 'p', digest: 'd'.repeat(64) };
  expect(linksOf(view, versions, 1)).toMatchObject({
    page: '/p/warm?version=1',
    verify: '/p/warm/verify?version=1',
    result: '/api/p/warm/result.json?version=1',
    list: null,
    feed: null,
  });
  expect(linksOf({ ...view, listed: true }, versions, 2)).toMatchObject({
    page: '/p/warm',
    package: '/api/p/warm/package.zip?version=2',
    digest: 'd'.repeat(64),
    list: '/p/list/p',
    feed: '/api/p/list/p/atom.xml',
  });
});

describe('what is withheld is said as withheld', () => {
  const full = { coarse: false, untold: new Set<string>() };

  test('a table that is gone is withheld where there is one, and empty where there is none', () => {
    expect(standingOf(null, 'descriptors.rows', 0)).toBe('whole');
    expect(standingOf(full, 'descriptors.rows', 0)).toBe('whole');
    const gone = { ...full, untold: new Set(['descriptors.rows']) };
    expect(standingOf(gone, 'descriptors.rows', 0)).toBe('withheld');
    expect(standingOf(gone, 'descriptors.rows', 2)).toBe('part');
    expect(standingOf({ ...full, untold: null }, 'descriptors.rows', 0)).toBe('unknown');
    expect(gapWord({ coarse: true, untold: new Set(['samples.rankSum']) }, 'samples.rankSum')).toBe(
      'withheld',
    );
    expect(gapWord(full, 'samples.rankSum')).toBe('none');
    expect(gapWord(null, 'samples.rankSum')).toBe('none');
  });

  test('every figure that a publication withholds has a name for readers', () => {
    const figures = publication.sessions.flatMap(({ untold = [] }) => untold.map(({ figure }) => figure));
    expect(figures.length).toBeGreaterThan(0);
    for (const figure of figures) {
      const [words] = untoldInWords({ coarse: true, untold: new Set([figure]) });
      expect(words, figure).not.toBe('further figures');
    }
  });

  test('a part of few people stands rounded', () => {
    const [session] = publication.sessions;
    if (!session) throw new Error('no session');
    expect(toldOfPart(session, 1, 12).coarse).toBe(false);
    expect(toldOfPart(session, 1, 9).coarse).toBe(true);
  });
});

describe('the reader’s check', () => {
  const checks = verifyPublication(publication);

  test('every check stands in one group, and an untouched publication agrees', () => {
    const groups = grouped(checks);
    expect(groups.flatMap((group) => group.checks.map(({ check }) => check)).length).toBe(checks.length);
    expect(groups.every(({ failed }) => failed === 0)).toBe(true);
    expect(groups.some(({ name }) => /^Session 1, part 1 \(/.test(name))).toBe(true);
    expect(verdictWords(checks)).toBe(`All ${checks.length} checks agree.`);
  });

  test('what differs is counted in its group', () => {
    const [first, ...rest] = checks;
    if (!first) throw new Error('no checks');
    const changed = [{ ...first, ok: false }, ...rest];
    expect(grouped(changed)[0]?.failed).toBe(1);
    expect(verdictWords(changed)).toBe(`1 of ${checks.length} checks does not agree.`);
    expect(verdictWords([])).toBe('Nothing could be checked.');
    expect(shortened('a'.repeat(500))).toHaveLength(119);
  });
});

describe('the picture', () => {
  /** Reads a PNG back by the specification: chunks with their sums, one zlib stream, filter 'up'. */
  function readPng(file: Uint8Array): { width: number; height: number; pixels: Uint8Array } {
    const bytes = Buffer.from(file);
    expect(bytes.subarray(0, 8).toString('latin1')).toBe('\x89PNG\r\n\x1a\n');
    const chunks = new Map<string, Buffer>();
    for (let at = 8; at < bytes.length;) {
      const length = bytes.readUInt32BE(at);
      const kind = bytes.toString('latin1', at + 4, at + 8);
      chunks.set(kind, bytes.subarray(at + 8, at + 8 + length));
      expect(bytes.readUInt32BE(at + 8 + length)).toBe(crc32(bytes.subarray(at + 4, at + 8 + length)));
      at += length + 12;
    }
    const header = chunks.get('IHDR') ?? Buffer.alloc(13);
    const [width, height] = [header.readUInt32BE(0), header.readUInt32BE(4)];
    const lines = inflateSync(chunks.get('IDAT') ?? Buffer.alloc(0));
    const row = width * 3;
    const pixels = new Uint8Array(row * height);
    for (let y = 0; y < height; y++) {
      expect(lines[y * (row + 1)]).toBe(2);
      for (let x = 0; x < row; x++) {
        const above = y === 0 ? 0 : (pixels[(y - 1) * row + x] ?? 0);
        pixels[y * row + x] = (lines[y * (row + 1) + 1 + x] ?? 0) + above;
      }
    }
    return { width, height, pixels };
  }

  test('comes back pixel by pixel from its file', () => {
    const pixels = pixelsOf(pictureOf(publication));
    const file = pngOf(pixels, PICTURE, { deflate: deflateSync, crc: crc32 });
    const read = readPng(file);
    expect([read.width, read.height]).toEqual([PICTURE.width, PICTURE.height]);
    expect(Buffer.compare(read.pixels, pixels)).toBe(0);
    expect(file.length).toBeLessThan(60_000);
    expect(() => pngOf(pixels.subarray(1), PICTURE, { deflate: deflateSync, crc: crc32 })).toThrow(
      RangeError,
    );
  });

  const [session] = publication.sessions;
  if (!session) throw new Error('no session');
  const alone = (part: PartResult): Publication => ({
    ...publication,
    sessions: [{ ...session, parts: [part] }],
  });
  const partOf = (kind: string): PartResult => {
    const part = publication.sessions.flatMap(({ parts }) => parts).find((one) => one.kind === kind);
    if (!part) throw new Error(`no ${kind}`);
    return part;
  };

  test('has one dot per answer of a choice test, its lines, and their numbers in words', () => {
    const first = partOf('triangle');
    if (first.kind !== 'triangle') throw new Error('no triangle');
    const { circles, posts, letters, words } = pictureOf(alone(first));
    const { counted, answers, critical } = first.test;
    expect(circles).toHaveLength(answers);
    expect(circles.filter(({ filled }) => filled)).toHaveLength(counted);
    expect(posts.map(({ strong }) => strong)).toEqual([false, true]);
    const written = letters.map(({ text }) => text).join(' ');
    expect(written).toContain(`${counted} of ${answers} right`);
    expect(written).toContain('by guessing');
    expect(written).toContain(`${critical} needed`);
    expect(words).toContain('One dot per answer');
    const dots = pixelsOf({ circles: circles.slice(0, 1), posts: [], rails: [], letters: [] });
    const [dot] = circles;
    const at = (Math.round(dot?.y ?? 0) * PICTURE.width + Math.round(dot?.x ?? 0)) * 3;
    expect([...dots.subarray(at, at + 3)]).toEqual([0x6a, 0x1f, 0x45]);
  });

  test('of samples stands them on lines, each named beside its mark', () => {
    for (const kind of ['rating', 'control', 'liking', 'ranking', 'description']) {
      const part = partOf(kind);
      const { circles, rails, letters } = pictureOf(alone(part));
      const samples = 'samples' in part ? part.samples : [];
      expect(rails.length, kind).toBeGreaterThan(0);
      // On each line, and once beside its name.
      expect(circles.length, kind).toBe(samples.length * (rails.length + 1));
      for (const { name } of samples) expect(letters.map(({ text }) => text)).toContain(name);
    }
  });

  test('tells every session, the first one and the ones without a difference too', () => {
    const triangle = partOf('triangle');
    const numbered = [1, 2, 3].map((number) => ({ ...session, number, parts: [triangle] }));
    const { letters, words } = pictureOf({ ...publication, sessions: numbered });
    for (const number of [1, 2, 3]) {
      expect(letters.some(({ text }) => text.startsWith(`Session ${number}: `))).toBe(true);
      expect(words).toContain(`Session ${number}: `);
    }
    const many = Array.from({ length: 9 }, (_, at) => ({ ...session, number: at + 1, parts: [triangle] }));
    expect(pictureOf({ ...publication, sessions: many }).words).toContain('and 5 more findings');
  });

  test('says a finding in words where there is nothing to draw', () => {
    const { letters } = pictureOf({
      ...publication,
      sessions: [
        {
          ...session,
          parts: [],
          withheld: [{ part: 1, kind: 'triangle', headline: 'Six of nine.', lede: '' }],
        },
      ],
    });
    expect(letters.some(({ text }) => text === 'Six of nine.')).toBe(true);
  });

  test('has letters for what titles and names are written in', () => {
    for (const letter of 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789') {
      const dots = letterDots(letter);
      expect(dots.length, letter).toBeGreaterThan(5);
      // None is another one.
      expect(JSON.stringify(dots)).not.toBe(JSON.stringify(letterDots('?')));
    }
    expect(letterDots('é')).toEqual(letterDots('e'));
    expect(letterDots('ab').some(({ column }) => column >= 6)).toBe(true);
  });

  test('keeps a hundred dots within its frame', () => {
    const [session] = publication.sessions;
    const part = publication.sessions.flatMap(({ parts }) => parts).find((one) => 'outcome' in one);
    if (!session || !part || !('outcome' in part)) throw new Error('no choice test');
    const many = { ...part, test: { ...part.test, answers: 400, counted: 250 } };
    const { circles } = pictureOf({ ...publication, sessions: [{ ...session, parts: [many] }] });
    for (const { x, y, radius } of circles) {
      expect(x - radius).toBeGreaterThan(0);
      expect(x + radius).toBeLessThan(PICTURE.width);
      expect(y - radius).toBeGreaterThan(0);
      expect(y + radius).toBeLessThan(PICTURE.height);
    }
  });
});

test('a receipt puts answers in words, tray by tray', () => {
  const about = { part: 1, kind: 'triangle', trayNumber: 1, sample: null, arm: null };
  const receipt: ReceiptView = {
    title: 'Pale beer, day 21',
    state: 'revealed',
    demo: true,
    rehearsal: false,
    heldOn: '2031-03-04',
    fingerprint: 'AAAA·BBBB·CCCC',
    root: '',
    consent: null,
    withdrawn: false,
    sealed: null,
    findings: [],
    answers: [
      { ...about, position: 2, arm: 'Warm', question: 'chosen as the odd one', value: 1, unit: '0 or 1' },
      { ...about, position: null, question: 'confidence', value: 'fairly-sure', unit: '' },
      { ...about, part: 2, kind: 'rating', position: 1, question: 'bitter', value: 62, unit: '0 to 100' },
    ],
    comments: [{ part: 1, trayNumber: 1, text: 'More fruit.' }],
    publishedAt: [],
  };
  expect(receiptBlocks(receipt)).toEqual([
    {
      heading: 'Part 1, triangle test: tray 1',
      lines: [
        { what: 'chosen as the odd one, cup 2 from the left (Warm)', value: 'yes' },
        { what: 'confidence', value: 'fairly sure' },
      ],
      comments: ['More fruit.'],
    },
    {
      heading: 'Part 2, rating: tray 1',
      lines: [{ what: 'bitter, cup 1 from the left', value: '62 (0 to 100)' }],
      comments: [],
    },
  ]);
});
