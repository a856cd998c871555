import type {} from 'svelte';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { createServer, type ViteDevServer } from 'vite';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { PartKind } from '@oddglass/shared/contracts/part.ts';
import { armMaking } from '@oddglass/shared/contracts/making.ts';
import { sessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { ArmView } from '@oddglass/shared/contracts/trial.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { spikeCups } from '@oddglass/shared/vocabulary/spike-cups.ts';
import { PART_KINDS } from '@oddglass/shared/kinds/kinds.ts';
import { attributeIds } from '../../web/src/lib/session/plan-form/attribute-ids.ts';
import {
  COMMON_ATTRIBUTES,
  OVERALL_ATTRIBUTES,
} from '../../web/src/lib/session/plan-form/common-attributes.ts';
import { kindsInWords, OFFERS } from '../../web/src/lib/session/part-words.ts';
import type { SpikeDraft } from '../../web/src/lib/session/plan-form/spike-draft.svelte.ts';
import type { PlanDraft } from '../../web/src/lib/session/plan-form/plan-draft.svelte.ts';

// The draft holds its state in runes, which only Svelte's compiler understands.
let vite: ViteDevServer;
let Draft: typeof PlanDraft;
beforeAll(async () => {
  const root = new URL('../../web', import.meta.url).pathname;
  vite = await createServer({
    root,
    configFile: false,
    plugins: [svelte({ configFile: false })],
    logLevel: 'error',
    optimizeDeps: { noDiscovery: true },
    server: { middlewareMode: true, ws: false, watch: null },
  });
  const module = (await vite.ssrLoadModule('/src/lib/session/plan-form/plan-draft.svelte.ts')) as {
    PlanDraft: typeof PlanDraft;
  };
  Draft = module.PlanDraft;
});
afterAll(() => vite?.close());

const uuid = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, '0')}`;
const arm = (n: number, name: string): ArmView => ({
  id: uuid(n),
  name,
  differs: '',
  volumeMl: 4000,
  abv: 5,
  allergens: [],
  making: armMaking.parse({}),
  liquid: { leftMl: 4000, reservedMl: 0, headspaceMl: null, lines: [] },
  sealed: false,
  deviations: [],
  safety: null,
});
const ARMS = [arm(1, 'Cool'), arm(2, 'Middle'), arm(3, 'Warm')];
const KINDS = PART_KINDS;

function draftOf(...kinds: PartKind[]): PlanDraft {
  const draft = new Draft(ARMS);
  draft.title = 'An evening';
  for (const kind of kinds) draft.add(kind);
  return draft;
}
/** A spike typed by hand, with nothing left open. */
function byHand(spike: SpikeDraft, what: string): void {
  spike.way = 'hand';
  spike.what = what;
  spike.alcohol = 'none';
  spike.allergensTold = 'none';
}
const partOf = (draft: PlanDraft, index = 0) => {
  const part = draft.parts[index];
  if (!part) throw new Error(`no part ${index}`);
  return part;
};

describe('a plan as it is typed', () => {
  it('is valid with what each kind starts with, and the planner answers', () => {
    for (const kind of KINDS) {
      const draft = draftOf(kind);
      expect({ kind, notes: draft.notes }).toEqual({ kind, notes: {} });
      expect(draft.settings?.parts.map((part) => part.kind)).toEqual([kind]);
      expect(draft.reading?.parts).toHaveLength(1);
      expect(draft.tooMuch).toBe(false);
    }
  });

  it('comes back from what was kept as it was, for every kind', () => {
    for (const kind of KINDS) {
      const kept = draftOf('triangle', kind).settings;
      if (!kept) throw new Error(`${kind} does not stand`);
      const again = new Draft(ARMS, kept);
      expect(again.settings).toEqual(kept);
      expect(again.differsFrom(kept)).toBe(false);
      again.cupMl = 35;
      expect(again.differsFrom(kept)).toBe(true);
    }
  });

  it('proposes a late question and never asks it by itself; a word no longer offered is not asked for', () => {
    const draft = draftOf('description');
    const part = partOf(draft);
    part.words = ['mousy', 'bitter', 'banana'];
    expect(draft.settings?.parts[0]).not.toHaveProperty('late');
    part.late.ask(true, ['mousy', 'bitter']);
    const late = () => (draft.settings?.parts[0] as { late?: unknown } | undefined)?.late;
    expect(late()).toEqual({ words: ['mousy', 'bitter'], seconds: 60 });
    part.removeWord('bitter');
    expect(late()).toEqual({ words: ['mousy'], seconds: 60 });
    part.addWord('bitter');
    part.late.toggle('mousy');
    part.late.seconds = 90;
    expect(late()).toEqual({ words: ['bitter'], seconds: 90 });
    const again = new Draft(ARMS, draft.settings ?? undefined);
    expect(again.settings).toEqual(draft.settings);
    expect(partOf(again).late.words).toEqual(['bitter']);
    part.late.toggle('bitter');
    expect(draft.notes['#/parts/0/late/words']).toBe('Choose at least one word.');
    // What was chosen before stays chosen; a proposal is as long as a short question.
    part.late.ask(
      true,
      Array.from({ length: 20 }, (_, at) => `word-${at}`),
    );
    expect(part.late.words).toHaveLength(12);
    part.late.ask(false, []);
    expect(draft.settings?.parts[0]).not.toHaveProperty('late');
  });

  it('has several places only where they are asked for, with the people of the session as their sum', () => {
    const draft = draftOf('triangle');
    draft.assessors = 13;
    draft.spareSeats = 3;
    expect(draft.settings).not.toHaveProperty('sites');
    draft.addSite();
    expect(draft.sites.map(({ assessors, spareSeats }) => [assessors, spareSeats])).toEqual([
      [7, 2],
      [6, 1],
    ]);
    expect(draft.settings).toBeNull();
    const [north, south] = draft.sites;
    north!.name = 'North';
    south!.name = 'Cool';
    expect(draft.notes['#/sites/1/name']).toContain('leave the names of the arms out');
    south!.name = 'South';
    draft.addSite();
    draft.sites[2]!.name = 'North';
    expect(draft.notes['#/sites/2/name']).toBe('Another place has this name.');
    draft.sites[2]!.name = 'East';
    draft.sites[2]!.assessors = 5;
    expect(draft.settings).toMatchObject({
      assessors: 18,
      spareSeats: 4,
      sites: [
        { name: 'North', assessors: 7, spareSeats: 2 },
        { name: 'South', assessors: 6, spareSeats: 1 },
        { name: 'East', assessors: 5, spareSeats: 1 },
      ],
    });
    expect(draft.reading?.sayings.join(' ')).toContain('Poured at three places by one sealed plan');
    const [liquid] = draft.reading?.liquid ?? [];
    expect(liquid?.sites?.map(({ name }) => name)).toEqual(['North', 'South', 'East']);
    expect(liquid?.needMl).toBe(liquid?.sites?.reduce((sum, { needMl }) => sum + needMl, 0));
    const again = new Draft(ARMS, draft.settings ?? undefined);
    expect(again.differsFrom(draft.settings!)).toBe(false);
    again.removeSite(again.sites[0]!.key);
    again.removeSite(again.sites[0]!.key);
    // The one that stays is the tasting.
    expect(again.sites).toEqual([]);
    expect([again.assessors, again.spareSeats]).toEqual([5, 1]);
    expect(again.settings).not.toHaveProperty('sites');
  });

  it('says what lingers only where something does', () => {
    const draft = draftOf('triangle');
    expect(draft.settings).not.toHaveProperty('lingering');
    draft.lingering = ['sour', 'strong'];
    expect(draft.settings?.lingering).toEqual(['sour', 'strong']);
    expect(new Draft(ARMS, draft.settings ?? undefined).lingering).toEqual(['sour', 'strong']);
  });

  it('says how many sit at a time only where somebody gave it, and how many waves that makes', () => {
    const draft = draftOf('triangle');
    Object.assign(draft, { assessors: 15, spareSeats: 0 });
    expect('seatsAtOnce' in (draft.settings ?? {})).toBe(false);
    expect(draft.inWaves).toBeNull();
    draft.seatsAtOnce = 4;
    expect(draft.settings?.seatsAtOnce).toBe(4);
    expect(draft.inWaves).toBe(4);
    const again = new Draft(ARMS, draft.settings ?? undefined);
    expect(again.seatsAtOnce).toBe(4);
    expect(again.differsFrom(draft.settings!)).toBe(false);
    draft.seatsAtOnce = 15;
    expect(draft.inWaves).toBeNull();
    draft.seatsAtOnce = 2.5;
    expect(draft.settings).toBeNull();
    expect(draft.note('#/seatsAtOnce')).toBe('A whole number of seats.');
    // Emptied again, as a number field gives it.
    draft.seatsAtOnce = undefined as unknown as null;
    expect('seatsAtOnce' in (draft.settings ?? { seatsAtOnce: 0 })).toBe(false);
  });

  it('keeps what a part holds when it is kept and read again', () => {
    const draft = draftOf('rating', 'control', 'description', 'duo-trio');
    const rating = partOf(draft);
    rating.addSample('duplicate');
    rating.addSample('spiked');
    rating.addSample('warm-up');
    const spiked = rating.samples.find(({ role }) => role === 'spiked');
    if (spiked) byHand(spiked.spike, 'lactic acid 80 %, 1 mL per litre');
    rating.scale = 'nine-point';
    rating.by = 'attribute';
    rating.returning = false;
    rating.cupsEach = 3;
    partOf(draft, 1).chooseControl(uuid(2));
    partOf(draft, 1).addDegree('enormous');
    const words = partOf(draft, 2);
    words.words = [];
    words.addWord('banana');
    words.addWord('clove');
    words.addWord('clove');
    partOf(draft, 3).reference = 'constant';
    const kept = draft.settings;
    expect(draft.notes).toEqual({});
    expect(kept?.parts[0]).toMatchObject({
      samples: [
        { role: 'warm-up' },
        { armId: uuid(1), role: 'sample' },
        { armId: uuid(2), role: 'sample' },
        { armId: uuid(3), role: 'sample' },
        { armId: uuid(1), role: 'duplicate' },
        { role: 'spiked', spike: 'lactic acid 80 %, 1 mL per litre' },
      ],
      cupsEach: 3,
      scale: 'nine-point',
      by: 'attribute',
      returning: false,
    });
    expect(kept?.parts[1]).toMatchObject({
      controlArmId: uuid(2),
      samples: [{ armId: uuid(1) }, { armId: uuid(3) }],
    });
    expect(kept?.parts[2]).toMatchObject({ words: ['banana', 'clove'], cups: 'before', samples: [] });
    if (kept) expect(new Draft(ARMS, kept).settings).toEqual(sessionSettings.parse(kept));
  });

  it('refuses a spike that is never added to a cup, at its field', () => {
    const draft = draftOf('rating');
    const rating = partOf(draft);
    rating.addSample('spiked');
    const spiked = rating.samples.at(-1);
    if (spiked) byHand(spiked.spike, 'H₂S, one bubble');
    expect(draft.note('#/parts/0/samples/3/spike')).toMatch(/^Never add hydrogen sulphide to a cup: /);
    expect(draft.settings).toBeNull();
    if (spiked) spiked.spike.what = 'lactic acid 80 %, 1 mL per litre';
    expect(draft.note('#/parts/0/samples/3/spike')).toBeUndefined();
    expect(draft.settings).not.toBeNull();
  });

  it('asks what a spike by hand brings in, each of told, none and unknown being an answer', () => {
    const draft = draftOf('rating');
    const rating = partOf(draft);
    rating.addSample('spiked');
    const spike = rating.samples.at(-1)!.spike;
    spike.way = 'hand';
    spike.what = 'syrup, 5 mL per litre';
    const open = ['#/parts/0/samples/3/spikeAbv', '#/parts/0/samples/3/spikeAllergens'];
    expect(Object.keys(draft.notes).sort()).toEqual(open);
    // Not complained about before somebody tried to go on.
    expect(draft.note(open[0]!)).toBeUndefined();
    draft.tried = true;
    expect(draft.note(open[0]!)).toMatch(/nobody knows/);
    spike.alcohol = 'told';
    spike.allergensTold = 'told';
    expect(Object.keys(draft.notes).sort()).toEqual(open);
    expect(draft.allergens).toEqual({ allergens: [], unknown: true });
    spike.abv = 6.5;
    spike.allergens = ['nuts'];
    expect(draft.settings?.parts[0]).toMatchObject({
      samples: [{}, {}, {}, { spikeAbv: 6.5, spikeAllergens: ['nuts'] }],
    });
    expect(draft.allergens).toEqual({ allergens: ['nuts'], unknown: false });
    spike.alcohol = 'unknown';
    spike.allergensTold = 'unknown';
    expect(draft.settings?.parts[0]).toMatchObject({
      samples: [{}, {}, {}, { spikeAbv: null, spikeAllergens: null }],
    });
    expect(draft.reading?.ethanolGrams).toBeNull();
    spike.amount = 5;
    expect(draft.notes).toEqual({ '#/parts/0/samples/3/spikeDose/perMl': 'Give a number.' });
  });

  it('takes dose, recipe, alcohol and allergens of a reference cup along, and reads them again', () => {
    const draft = draftOf('rating');
    const rating = partOf(draft);
    rating.addSample('spiked');
    const warming = spikeCups(BUILT_IN).find(({ reference }) => reference.wordId === 'warming')!;
    rating.samples.at(-1)!.spike.choose(warming);
    const kept = draft.settings!;
    expect(draft.notes).toEqual({});
    expect(kept.parts[0]).toMatchObject({
      samples: [
        {},
        {},
        {},
        {
          spike: 'warming alcohol: 30 mL per 470 mL',
          spikeDose: { amount: 30, unit: 'mL', perMl: 470 },
          spikeReference: { wordId: 'warming', own: null, abv: 40 },
          spikeAllergens: [],
        },
      ],
    });
    // 30 mL of 40 % in 470 mL of 5 %: (12 + 23.5) mL in 500 mL, four cups of 40 mL.
    expect(draft.reading?.ethanolGrams).toBeCloseTo(4 * 40 * 0.071 * 0.789, 6);
    const again = new Draft(ARMS, kept);
    expect(again.settings).toEqual(kept);
    expect(again.differsFrom(kept)).toBe(false);
    partOf(again).samples.at(-1)!.spike.way = 'hand';
    expect(Object.keys(again.notes)).toContain('#/parts/0/samples/3/spike');
  });

  it('points to the field that needs another look, as the server does', () => {
    const draft = draftOf('triangle', 'rating');
    partOf(draft).secondArm = uuid(1);
    partOf(draft).alpha = null;
    const rating = partOf(draft, 1);
    rating.addSample('spiked');
    expect(Object.keys(draft.notes).sort()).toEqual([
      '#/parts/0/alpha',
      '#/parts/0/armIds',
      '#/parts/1/samples/3/spike',
    ]);
    partOf(draft).secondArm = uuid(2);
    partOf(draft).alpha = 0.05;
    const last = rating.samples.at(-1);
    if (last) Object.assign(last, { role: 'sample', armId: uuid(1) });
    expect(draft.notes).toEqual({
      '#/parts/1/samples/3/role': 'This arm is a sample already: a second cup of it is a hidden duplicate.',
    });
  });

  it('says what does not fit together also while a number elsewhere is missing', () => {
    const draft = draftOf('ranking');
    draft.assessors = null;
    for (const { key } of [...partOf(draft).samples]) partOf(draft).removeSample(key);
    expect(draft.notes).toEqual({
      '#/assessors': 'Give a number.',
      '#/parts/0/samples': 'Choose at least two samples besides a warm-up.',
    });
  });

  it('does not complain about empty texts before somebody tries, nor lets the planner wait for them', () => {
    const draft = draftOf('rating');
    draft.title = '';
    partOf(draft).addOwnAttribute();
    const pointer = '#/parts/0/attributes/3/name';
    expect([draft.note('#/title'), draft.note(pointer)]).toEqual([undefined, undefined]);
    expect(draft.settings).toBeNull();
    expect(draft.reading).not.toBeNull();
    draft.tried = true;
    expect([draft.note('#/title'), draft.note(pointer)]).toEqual(['Fill this in.', 'Fill this in.']);
  });

  it('lets the expected arm follow when the pair changes', () => {
    const draft = draftOf('three-afc');
    partOf(draft).chooseArm('secondArm', uuid(3));
    expect(draft.settings?.parts[0]).toMatchObject({ armIds: [uuid(1), uuid(3)], strongerArmId: uuid(3) });
    partOf(draft).chooseArm('firstArm', uuid(2));
    expect(draft.settings?.parts[0]).toMatchObject({ armIds: [uuid(2), uuid(3)], strongerArmId: uuid(3) });
  });

  it('refuses a title that names an arm that is poured', () => {
    const draft = draftOf('triangle');
    draft.title = 'Warm or cool';
    expect(draft.note('#/title')).toMatch(/leave the names of the arms out/);
    draft.title = 'Warm evening';
    // The third arm has no part in it, so nothing is given away.
    expect(draft.note('#/title')).toBeUndefined();
  });

  it('moves and removes parts; what comes first has cups of its own', () => {
    const draft = draftOf('triangle', 'description');
    expect(draft.settings?.parts[1]).toMatchObject({ kind: 'description', cups: 'before', samples: [] });
    expect(draft.reading?.parts[1]?.cupsEach).toBe(0);
    draft.move(partOf(draft, 1).key, -1);
    expect(draft.settings?.parts.map((part) => part.kind)).toEqual(['description', 'triangle']);
    expect(draft.settings?.parts[0]).toMatchObject({ cups: 'own', samples: [{}, {}, {}] });
    draft.remove(partOf(draft, 0).key);
    draft.remove(partOf(draft, 0).key);
    expect(draft.settings).toBeNull();
    for (const kind of KINDS) draft.add(kind);
    expect(draft.parts).toHaveLength(4);
  });

  it('says when the plan wants more than there is, over all parts together', () => {
    const draft = draftOf('triangle');
    draft.assessors = 40;
    draft.spareSeats = 0;
    draft.cupMl = 45;
    // At most 2 cups of an arm for each of 40 seats in the worst draw: 3,600 mL of 4,000.
    expect(draft.tooMuch).toBe(false);
    draft.add('preference');
    // One cup more of each for everybody: 5,400 mL.
    expect(draft.tooMuch).toBe(true);
  });
});

describe('attributes', () => {
  it('have ids that the contract takes, each once', () => {
    const names = ['Sourness', 'Säure (Apfel)', 'sourness', '酸味', '9 lives', 'x'.repeat(60)];
    const ids = attributeIds([
      { id: 'sourness', name: 'kept' },
      ...names.map((name) => ({ id: null, name })),
    ]);
    expect(ids).toEqual([
      'sourness',
      'sourness-2',
      'saure-apfel',
      'sourness-3',
      'attribute-5',
      'lives',
      'x'.repeat(36),
    ]);
    for (const id of ids) expect(id).toMatch(/^[a-z][a-z0-9-]{0,40}$/);
  });

  it('that are common are words of the vocabulary, or named as ranges of it', () => {
    const words = new Set(BUILT_IN.words.map(({ id }) => id));
    const strangers = COMMON_ATTRIBUTES.filter(({ id }) => !words.has(id));
    expect(strangers).toEqual(OVERALL_ATTRIBUTES);
    expect(new Set(COMMON_ATTRIBUTES.map(({ id }) => id)).size).toBe(COMMON_ATTRIBUTES.length);
  });
});

describe('kinds in words', () => {
  it('offer each kind once', () => {
    const offered = OFFERS.flatMap(({ kinds }) => kinds.map(({ kind }) => kind));
    expect([...offered].sort()).toEqual([...KINDS].sort());
  });

  it('read in order', () => {
    expect(kindsInWords(['triangle', 'description'])).toBe('triangle, then description');
  });
});
