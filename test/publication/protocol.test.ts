import { protocol as schema } from '@oddglass/shared/contracts/protocol.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import { packageDigest, packageFiles, zipPackage } from '@oddglass/shared/publication/package.ts';
import { protocolOf } from '@oddglass/shared/publication/protocol.ts';
import { draftOf, readOriginal, replicationOf, unfitIn } from '@oddglass/shared/publication/replicate.ts';
import { PART_KINDS } from '@oddglass/shared/kinds/kinds.ts';
import { describe, expect, it } from 'vitest';
import { armId } from '../analysis/common/flight-input.ts';
import { fixturePublication, fixtureSession, PARTS } from './package-fixture.ts';

const ADDRESS = 'https://example.org/p/warm-or-cool?version=1';
const publication = fixturePublication();
const files = packageFiles(publication, ADDRESS);
const text = new TextDecoder().decode(files.find(({ path }) => path === 'protocol.json')?.bytes);
const protocol = schema.parse(JSON.parse(text));

/** A part as it was planned, in the order in which sets of samples are compared. */
const inOrder = (part: Part): Part =>
  'samples' in part
    ? {
        ...part,
        samples: [...part.samples].sort((a, b) =>
          `${a.armId} ${a.role === 'sample' ? 0 : 1}`.localeCompare(
            `${b.armId} ${b.role === 'sample' ? 0 : 1}`,
          ),
        ),
      }
    : part;

describe('protocol.json', () => {
  it('tells what was asked, under the names of the publication', () => {
    expect(protocol).toMatchObject({
      protocol: 1,
      title: publication.title,
      address: ADDRESS,
      question: 'Does it matter?',
      factor: 'temperature',
      arms: [
        { name: 'Cool "14 °C"' },
        { name: 'Warm, 22 °C' },
        { name: '=Third', differs: publication.arms[2]!.differs },
      ],
    });
    expect(protocol.sessions.map(({ root }) => root)).toEqual(
      publication.sessions.map(({ seal }) => seal.root),
    );
    expect(protocol.base[0]).toEqual({ label: expect.any(String), value: '=Pale wort, "one" batch' });
    // The sealed name of the third arm is not for readers.
    expect(text).not.toContain('=Wild');
  });

  it('gives the parts of every kind back as they were planned', () => {
    const kinds = protocol.sessions.flatMap(({ parts }) => parts.map(({ kind }) => kind));
    expect([...new Set(kinds)].sort()).toEqual([...PART_KINDS].sort());
    const ids = [0, 1, 2].map(armId);
    for (const { parts, people } of PARTS) {
      const at = protocol.sessions.findIndex(
        (one) =>
          one.parts[0]?.kind === parts[0]?.kind &&
          one.parts.length === parts.length &&
          one.parts[1]?.kind === parts[1]?.kind,
      );
      const settings = draftOf(protocol, at, ids);
      expect(settings).toMatchObject({
        assessors: people,
        spareSeats: 2,
        cupMl: 30,
        restSeconds: 0,
        masking: false,
      });
      expect(settings.parts.map(inOrder)).toEqual(parts.map(inOrder));
      // Planned before likeness asked for a smaller beta.
      expect(unfitIn(protocol, at)).toEqual(
        parts.some((part) => 'aim' in part && part.aim === 'similarity')
          ? ['part 4, beta: For likeness beta is the risk of claiming it wrongly: 0.1 or less.']
          : [],
      );
    }
  });

  it('has words with their definitions, and ends of attributes', () => {
    const parts = protocol.sessions.flatMap((one) => one.parts);
    const described = parts.find((part) => part.kind === 'description');
    expect(described?.words).toEqual([
      {
        id: 'banana',
        word: 'banana',
        family: expect.any(String),
        definition: expect.stringMatching(/\w{4}/),
      },
      { id: 'clove', word: 'clove', family: expect.any(String), definition: expect.stringMatching(/\w{4}/) },
      { id: 'stale', word: 'stale', family: 'Ageing', definition: 'Of our own: like an old cupboard.' },
    ]);
    expect(parts.find((part) => part.kind === 'rating')?.attributes).toEqual([
      { id: 'bitter', name: 'bitter', low: 'not at all', high: 'very' },
    ]);
    expect(parts.flatMap((part) => (part.kind === 'description' && part.late ? [part.late] : []))).toEqual([
      { words: ['clove', 'stale'], seconds: 60 },
    ]);
  });

  it('holds no code, sample, tray, nonce, person or day of any session', () => {
    const secrets = publication.sessions.flatMap(({ seal, samples, rows }) => [
      ...seal.leaves.flatMap(({ kind, nonce, body }) =>
        kind === 'tray'
          ? [
              nonce,
              String(body['id']),
              ...(body['servings'] as { code: string }[]).map(({ code }) => `"${code}"`),
            ]
          : [nonce],
      ),
      ...samples.map(({ sampleId }) => sampleId),
      ...(rows ?? []).map(({ person }) => `"${person}"`),
    ]);
    expect(secrets.length).toBeGreaterThan(500);
    expect(secrets.filter((secret) => text.includes(secret))).toEqual([]);
    expect(text).not.toMatch(/\d{4}-\d{2}(-\d{2})?\b/);
    expect(text).not.toContain(publication.panel);
    // The only long hexadecimal numbers are the roots.
    const roots = publication.sessions.map(({ seal }) => seal.root);
    expect([...text.matchAll(/[0-9a-f]{32,}/g)].map(([hex]) => hex).sort()).toEqual([...roots].sort());
    expect(Object.keys(protocol.sessions[0]!).sort()).toEqual(
      [
        'assessors',
        'cupMl',
        'lingering',
        'masking',
        'parts',
        'restSeconds',
        'root',
        'spareSeats',
        'title',
      ].sort(),
    );
  });

  it('is made of older publications too, and leaves out what they do not tell', () => {
    const older = {
      ...publication,
      sessions: publication.sessions.map(({ plan: _plan, ...rest }) => rest),
    };
    const made = protocolOf(older, null);
    expect(made).toMatchObject({ address: null });
    expect(made?.sessions.map(({ masking, lingering }) => [masking, lingering])).toEqual(
      PARTS.map(() => [null, null]),
    );
    const stale = made?.sessions
      .flatMap(({ parts }) => parts)
      .flatMap((part) => (part.kind === 'description' ? (part.words ?? []) : []))
      .find(({ id }) => id === 'stale');
    expect(stale).toMatchObject({ word: 'stale', definition: null });
  });

  it('leaves a definition out that names an arm as the house does', () => {
    const one = fixtureSession(1, 1);
    const naming = one.offered!.map((word) =>
      word.id === 'stale' ? { ...word, definition: 'As =Wild smells on day 3.' } : word,
    );
    const { sessions } = fixturePublication(1, [
      {
        ...one,
        input: {
          ...one.input,
          session: { ...one.input.session, arms: fixtureSession(4, 1).input.session.arms },
        },
        offered: naming,
      },
    ]);
    expect(sessions[0]?.plan?.words).toEqual([
      { id: 'stale', word: 'stale', family: 'Ageing', definition: null },
    ]);
  });

  it('keeps what is known of what was added to a cup', () => {
    const one = fixtureSession(4, 1);
    expect(one.offered?.length).toBeGreaterThan(0);
    const settings = { ...one.input.settings };
    settings.parts = settings.parts.map((part) =>
      part.kind === 'rating'
        ? {
            ...part,
            samples: part.samples.map((sample, at) =>
              at === 3
                ? {
                    armId: armId(0),
                    role: 'spiked' as const,
                    spike: '2 mL of rum',
                    spikeAllergens: [],
                    spikeAbv: 7.5,
                  }
                : sample,
            ),
          }
        : part,
    );
    const { sessions } = fixturePublication(1, [{ ...one, input: { ...one.input, settings } }]);
    expect(sessions[0]?.plan?.spikes).toEqual([
      { part: 1, spike: '2 mL of rum', spikeAllergens: [], spikeAbv: 7.5 },
    ]);
  });
});

describe('a file that somebody chose', () => {
  const bytes = (value: unknown): Uint8Array =>
    new TextEncoder().encode(typeof value === 'string' ? value : JSON.stringify(value));

  it('is read as a protocol by itself: without figures, its root known', () => {
    const read = readOriginal(bytes(text));
    expect(read).toMatchObject({ ok: true, protocol, digest: null, figures: [] });
  });

  it('is read with figures where it is a whole package, held by its digest', () => {
    const read = readOriginal(zipPackage(files));
    if (!read.ok) throw new Error(read.sentences.join(' '));
    expect([read.protocol, read.digest]).toEqual([protocol, packageDigest(files)]);
    expect(read.figures.map(({ root }) => root)).toEqual(protocol.sessions.map(({ root }) => root));
    const at = publication.sessions.findIndex(({ parts }) => parts[0]?.kind === 'triangle');
    const [triangle] = publication.sessions[at]!.parts;
    if (triangle?.kind !== 'triangle') throw new Error('a triangle is told');
    expect(read.figures[at]?.figures[0]).toEqual({
      part: 1,
      kind: 'triangle',
      measure: 'd-prime',
      about: '',
      scale: '',
      arms: [0, 1],
      effect: triangle.dPrime?.estimate,
      standardError: triangle.dPrime?.standardError,
      df: null,
      lower: triangle.dPrime?.lower,
      upper: triangle.dPrime?.upper,
      level: triangle.dPrime?.level,
      n: triangle.test.answers,
      counted: triangle.test.counted,
    });
    const measures = read.figures.flatMap(({ figures }) => figures.map(({ measure }) => measure));
    expect([...new Set(measures)].sort()).toEqual(['d-prime', 'marks', 'share']);
    // What is sealed with the draft names no arm.
    const link = replicationOf(read, at, [0, 1, 2].map(armId));
    expect(link).toMatchObject({ root: protocol.sessions[at]?.root, address: ADDRESS, digest: read.digest });
    for (const { name } of protocol.arms) expect(JSON.stringify(link.figures)).not.toContain(name);
  });

  it('is not taken where a package does not agree with itself', () => {
    const changed = files.map((file) =>
      file.path === 'result.json'
        ? { ...file, bytes: new TextEncoder().encode(JSON.stringify({ ...publication, factor: 'yeast' })) }
        : file,
    );
    const read = readOriginal(zipPackage(changed));
    expect(read.ok ? [] : read.sentences.slice(0, 2)).toEqual([
      'This package does not agree with itself, so nothing is taken from it.',
      'It differs in: sum of result.json.',
    ]);
    expect(readOriginal(zipPackage([]))).toMatchObject({ ok: false });
  });

  it('is refused in plain sentences where it does not fit', () => {
    const says = (value: unknown): string[] => {
      const read = readOriginal(bytes(value));
      return read.ok ? [] : read.sentences;
    };
    expect(says('no JSON')).toEqual(['This file is neither a protocol.json nor a data package (ZIP).']);
    expect(says({ ...protocol, protocol: 2 })).toEqual([
      'protocol: Only the first form of protocol.json is known here.',
    ]);
    for (const address of ['javascript:alert(1)', 'data:text/html,x', 'file:///etc/hosts']) {
      expect(says({ ...protocol, address })).toEqual(['address: This is no address of a web page.']);
    }
    expect(says({ ...protocol, question: '' })).toEqual(['question: Fill this in.']);
    const odd = structuredClone(protocol);
    const at = odd.sessions.findIndex(({ parts }) => parts[0]?.kind === 'triangle');
    const test = odd.sessions[at]!.parts[0]!;
    Object.assign(test, { alpha: 0.9 });
    expect(says(odd)).toEqual([`tasting ${at + 1}, part 1, alpha: Alpha lies at or below 0.25.`]);
    Object.assign(test, { alpha: 0.05, arms: ['Cool "14 °C"', 'Nobody'] });
    expect(says(odd)).toEqual([`tasting ${at + 1}, part 1: ‘Nobody’ is not among the arms.`]);
    const { factor: _factor, ...without } = protocol;
    expect(says(without)).toEqual(['factor: This is missing, or not of the form that is needed.']);
    expect(says(new Array(9).fill(0))).toHaveLength(1);
    // What the parts do not say by themselves, but together.
    const late = structuredClone(protocol);
    const described = late.sessions.findIndex(({ parts }) => parts[0]?.kind === 'description');
    Object.assign(late.sessions[described]!.parts[0]!, { late: { words: ['banana-peel'], seconds: 60 } });
    expect(unfitIn(late, described)[0]).toMatch(/^part 1, late/);
  });
});
