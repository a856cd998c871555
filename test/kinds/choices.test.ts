import type { ServedCup } from '@oddglass/shared/analysis/common/served.ts';
import { partAtSeat } from '@oddglass/shared/contracts/seat.ts';
import { CHOICES, choiceOf, differenceOf, DIFFERENCES } from '@oddglass/shared/kinds/kinds.ts';
import { describe, expect, it } from 'vitest';
import { ARMS, ORDERS, PARTS, rightPlaces, tray, type PartName } from '../analysis/choice/choice-input.ts';

// What a test of difference lets assessors know, what it asks, and which cups are right: by the standards' description of
// each (ISO 4120 triangle, ISO 10399 duo-trio, ISO 5495 pair), the others by counting.

const NAMES = Object.keys(PARTS) as PartName[];
const NAMING: readonly PartName[] = ['three-afc', 'directional-pair', 'open-pair'];
const namesAttribute = (name: PartName): boolean => NAMING.includes(name);
const both = 'Cool and Warm';
const nameOf = (id: string): string => (id === ARMS[0] ? 'Cool' : 'Warm');

/** What a seat is told of a part. */
const atSeat = (name: PartName) => choiceOf(PARTS[name]).atSeat(PARTS[name]);

describe.each(NAMES)('at the seat of a %s', (name) => {
  const facts = choiceOf(PARTS[name]);
  const codes = ['411', '522', '633', '744', '855'].slice(
    0,
    (ORDERS[name][0] ?? '').replace(/\(.\)/, '').length,
  );
  const chosen = codes.slice(0, facts.picks(PARTS[name]).most);

  it('only the kind is known, and the attribute where one is asked about: no arm, no direction, no level', () => {
    const known = atSeat(name);
    expect(known).toEqual({
      kind: PARTS[name].kind,
      ...(namesAttribute(name) && { attribute: 'bitter' }),
    });
    expect(partAtSeat.parse(known)).toEqual(known);
  });

  it('the host’s own text is the attribute, and nothing else', () => {
    expect(facts.textsAtSeat(PARTS[name])).toEqual(
      namesAttribute(name) ? [{ path: 'attribute', text: 'bitter' }] : [],
    );
  });

  it('there is a question, what to do, a name of the group, a note and what is missing; the attribute is named in it', () => {
    const words = facts.words(atSeat(name));
    expect(Object.keys(words).sort()).toEqual(['group', 'hint', 'missing', 'note', 'question']);
    for (const text of Object.values(words)) expect(text).toMatch(/\S{3}/);
    expect(words.question).toMatch(/\?$/);
    expect(words.missing).toMatch(/^Choose (one cup|two cups) first\.$/);
    expect(words.missing.includes('two')).toBe(chosen.length === 2);
    for (const text of [words.question, words.group]) {
      expect(text.includes('bitter')).toBe(namesAttribute(name));
    }
  });

  it('one is told while tasting what will be asked', () => {
    expect(facts.tastingHint(atSeat(name))).toMatch(namesAttribute(name) ? /bitter\.$/ : /the same.*\.$/);
  });

  it('a choice is one sentence that names the chosen cups first', () => {
    const sentence = facts.sentence(atSeat(name), chosen, codes);
    expect(sentence.startsWith(chosen.join(' and '))).toBe(true);
    expect(sentence.includes('bitter')).toBe(namesAttribute(name));
  });
});

describe('a choice in one sentence', () => {
  it('names the two others of a tetrad after the two that were chosen, whichever they are', () => {
    const codes = ['411', '522', '633', '744'];
    const say = (...chosen: string[]) => CHOICES.tetrad.sentence({ kind: 'tetrad' }, chosen, codes);
    expect(say('522', '744')).toBe('522 and 744 belong together, and so do 411 and 633');
    expect(say('411', '633')).toBe('411 and 633 belong together, and so do 522 and 744');
  });
});

describe('the right cups', () => {
  const served = (order: string): { asked: ServedCup[]; reference: ServedCup | null } => {
    const { cups } = tray(order, null);
    return {
      asked: cups.filter(({ mark }) => mark === null),
      reference: cups.find(({ mark }) => mark === 'reference') ?? null,
    };
  };

  it.each(NAMES.filter((name) => name !== 'open-pair'))(
    'of a %s are those that its description names, in every order',
    (name) => {
      for (const order of ORDERS[name]) {
        const { asked, reference } = served(order);
        const right = (choiceOf(PARTS[name]).right(PARTS[name], asked, reference) ?? []).map(
          ({ code }) => code,
        );
        const byHand = rightPlaces(name, order).map((place) => asked[place - 1]!.code);
        const halves = [byHand, asked.map(({ code }) => code).filter((code) => !byHand.includes(code))];
        // Either half of four cups is the right way to halve them.
        expect([order, name === 'tetrad' ? halves : [byHand]]).toEqual([
          order,
          expect.arrayContaining([right]),
        ]);
      }
    },
  );

  it('follow the arm that was expected to have more, and are none where none was', () => {
    const { asked } = served('AB');
    const right = (strongerArmId: string | null) =>
      CHOICES['directional-pair']
        .right({ ...PARTS['directional-pair'], strongerArmId }, asked, null)
        ?.map(({ armId }) => armId);
    expect(right(ARMS[0])).toEqual([ARMS[0]]);
    expect(right(ARMS[1])).toEqual([ARMS[1]]);
    expect(right(null)).toBeUndefined();
  });
});

describe.each(NAMES)('a %s', (name) => {
  const facts = differenceOf(PARTS[name]);

  it('has a name within sentences, on a button, over its result and in a list', () => {
    const { plain, button, heading, asked } = facts.names;
    for (const text of [plain, button, heading, asked]) expect(text).toMatch(/\S{3}/);
    expect(asked).toBe(`the ${plain}${heading.endsWith(' test') ? ' test' : ''}`);
  });

  it('asks how sure one is, and what told the cups apart', () => {
    expect(facts.asksWhy).toBe(true);
    const [one, two] = ['411', '522'];
    const heading = facts.toldApart(facts.picks(PARTS[name]).most === 2 ? [one, two] : [one]);
    expect(heading).toMatch(/^What (else )?told .*\?$/);
    // Where one cup is the odd one or the strongest, it is named.
    expect(heading.includes(one)).toBe(['triangle', ...NAMING].includes(name));
  });

  it('says what those who were right did, with arm and attribute where it names them', () => {
    const did = facts.test.didRight({ stronger: 'Warm', attribute: '“bitter”' });
    expect(did).toMatch(/^(found|paired|named) the |^named Warm /);
    expect([did.includes('Warm'), did.includes('“bitter”')]).toEqual(Array(2).fill(namesAttribute(name)));
  });
});

it('only liking and preference ask how well something is liked; only tests of an attribute ask how strong it is', () => {
  expect(Object.values(DIFFERENCES).filter(({ asksLiking }) => asksLiking)).toEqual([]);
  expect(Object.values(DIFFERENCES).flatMap((one) => (one.asksIntensity ? [one.kind] : []))).toEqual([
    'three-afc',
    'directional-pair',
  ]);
});

describe('in a publication', () => {
  const published = (name: PartName, change = {}) => {
    const part = { ...PARTS[name], ...change };
    return choiceOf(part).published(part, both, nameOf);
  };

  it.each(NAMES)('a %s is told with its number of cups, both arms and its question', (name) => {
    const said = published(name);
    expect(said).toContain(`${both})`);
    expect(said).toContain('?');
    const cups = (ORDERS[name][0] ?? '').replace(/\(.\)/, '').length;
    expect(said).toContain(`${['', '', 'two', 'three', 'four', 'five'][cups]} cups`);
    expect(said.includes('bitter')).toBe(namesAttribute(name));
  });

  it('a duo-trio says which arm was the reference', () => {
    expect(published('duo-trio', { reference: 'constant' })).toMatch(/ The reference was always Cool\.$/);
    expect(published('duo-trio')).toMatch(/ Each arm was the reference equally often\.$/);
  });

  it('a pair says what was expected beforehand, and a 3-AFC which arm stood once', () => {
    expect(published('directional-pair')).toMatch(/ Warm was expected to be, beforehand\.$/);
    expect(published('directional-pair', { strongerArmId: ARMS[0] })).toMatch(
      / Cool was expected to be, beforehand\.$/,
    );
    expect(published('open-pair')).toMatch(/ No direction was expected beforehand\.$/);
    expect(published('three-afc')).toMatch(/^three cups, one of Warm and two of the other arm/);
  });
});

it('a duo-trio with one arm as reference at every seat has its two orders, else four (ISO 10399)', () => {
  const orders = (reference: 'constant' | 'balanced') =>
    CHOICES['duo-trio'].serving({ kind: 'duo-trio', reference });
  expect([...orders('constant').orders].sort()).toEqual(['AAB', 'ABA']);
  expect(orders('constant').letters).toBe('given');
  expect([...orders('balanced').orders].sort()).toEqual(['AAB', 'ABA', 'BAB', 'BBA']);
  expect(orders('balanced').letters).toBe('drawn');
});
