import { describe, expect, it } from 'vitest';
import { storyLineOf } from '@oddglass/shared/analysis/story/line.ts';
import { storyOf } from '@oddglass/shared/analysis/story/story.ts';
import { story as schema, type Story } from '@oddglass/shared/contracts/story.ts';
import { DIFFERENCES, isDifferenceKind } from '@oddglass/shared/kinds/kinds.ts';
import { criticalNumber } from '@oddglass/shared/stats/discrimination/critical-number.ts';
import { simulatedPanel } from '../../support/percepts.ts';
import { bareTrial, COOL, evening, WARM } from './story-input.ts';

// The truth of the invented trial: hardly a difference on day 3, a large one on day 40; Warm gains 25 in sourness, body is alike.
const sessions = [
  evening(2, { on: '2026-04-10', people: 24, right: 22, more: 25 }),
  evening(1, { on: '2026-03-04', people: 24, right: 8, more: 0 }),
];
const told = storyOf({
  ...bareTrial(),
  sessions,
  pulls: [{ id: 'p1', name: 'day 3', at: '2026-03-04T09:00:00.000Z' }],
  readings: [
    {
      pullId: 'p1',
      armId: WARM,
      at: '2026-03-04',
      ph: 3.9,
      sg: 1.012,
      temperatureC: 18,
      takenMl: 20,
      looks: 'hazy',
      smell: '',
    },
    {
      pullId: 'p1',
      armId: COOL,
      at: '2026-03-04',
      ph: 4.4,
      sg: null,
      temperatureC: 9,
      takenMl: 20,
      looks: '',
      smell: 'sulphur',
    },
  ],
  deviations: [{ armId: COOL, on: '2026-03-20', note: 'The cellar was warm for a day.' }],
  record: [
    {
      id: 'f1',
      kind: 'vessel',
      sentence: 'The arms stood in different vessels.',
      undoesFactor: true,
      answered: false,
    },
    { id: 'f2', kind: 'order', sentence: 'Answered by the host.', undoesFactor: false, answered: true },
  ],
});

function textsOf(value: unknown): string[] {
  if (typeof value === 'string') return [value];
  return value === null || typeof value !== 'object' ? [] : Object.values(value).flatMap(textsOf);
}

describe('a story over two evenings', () => {
  it('fits its contract and stands on one axis since pitching, oldest first', () => {
    expect(schema.parse(told)).toEqual(told);
    expect(told.axis).toMatchObject({ from: 'pitching', zero: '2026-03-01', first: 0, last: 40 });
    expect(told.sessions.map(({ x }) => x)).toEqual([3, 40]);
    expect(told.readings.map(({ measure }) => measure)).toEqual(['ph', 'gravity', 'temperature']);
    expect(told.signs.map(({ kind, x }) => [kind, x])).toEqual([
      ['looks', 3],
      ['smell', 3],
      ['deviation', 19],
    ]);
  });

  it('finds what changed and claims no more, each p adjusted for all tests over time', () => {
    expect(told.tests).toBe(3);
    const [difference] = told.differences;
    const change = Object.fromEntries(
      told.attributes.map(({ name, change: test }) => [name, test?.adjusted]),
    );
    expect(difference?.change?.adjusted).toBeLessThan(0.001);
    expect(change['sour']).toBeLessThan(0.001);
    expect(change['body']).toBeGreaterThan(0.05);
    for (const { change: test } of [...told.differences, ...told.attributes]) {
      expect(test!.adjusted).toBeGreaterThanOrEqual(test!.p);
    }
    expect(difference?.sentence).toContain('not planned beforehand');
    expect(difference?.sentence).toContain('adjusted for 3 tests over time');
    expect(told.notes.join(' ')).toContain('Seats are anonymous');
  });

  it('never puts arms in order, nor says that they are the same', () => {
    const all = textsOf(told).join('\n');
    expect(all).not.toMatch(
      /\b(winner|recommend\w*|score|best arm|no difference(?! was demonstrated)|% of people)\b/i,
    );
    expect(told.forward.arms.map(({ name }) => name)).toEqual(['Cool', 'Warm']);
    for (const arm of told.forward.arms) {
      expect(Object.values(arm).filter((value) => typeof value === 'number')).toEqual([]);
    }
    expect(told.forward.notShown.join(' ')).toContain('would undo');
    expect(told.open).toEqual([{ sentence: 'The arms stood in different vessels.', undoesFactor: true }]);
  });

  it('says first what may undo the factor, answered or not, and names the test that changed', () => {
    expect(told.finding.headline.startsWith('The arms stood in different vessels. Triangle')).toBe(true);
    expect(told.finding.headline).toContain('Cool and Warm: the difference was not equally large');
    expect(told.finding.headline).toContain('One more changed too');
    expect(told.differences[0]?.sentence).toContain('people of each session for others');
    const answered = storyOf({
      ...bareTrial(),
      record: [
        {
          id: 'f',
          kind: 'sign',
          sentence: 'Gravity fell in Warm.',
          undoesFactor: true,
          undoes: 'Warm probably carries a yeast.',
          answered: true,
        },
      ],
    });
    expect(answered.finding.headline).toBe(
      'Warm probably carries a yeast. No session of this trial is revealed yet.',
    );
    expect(answered.open).toEqual([]);
  });

  it('says it once: sentences of sessions that begin with it go on without it', () => {
    const undoes = 'Warm probably carries a yeast.';
    const [given] = sessions;
    const { result } = given!;
    const parts = result.parts.map((part) => ({
      ...part,
      finding: { ...part.finding, headline: `${undoes} ${part.finding.headline}` },
    })) as typeof result.parts;
    const record = { id: 'f', kind: 'sign', sentence: 'Gas in Warm.', undoesFactor: true, answered: false };
    const input = { ...bareTrial(), sessions: [{ ...given!, result: { ...result, parts } }] };
    const texts = textsOf(storyOf({ ...input, record: [{ ...record, undoes }] }));
    expect(texts.filter((text) => text.includes(undoes))).toHaveLength(1);
    // Said by a session of another name for the arm, it stays.
    const other = textsOf(
      storyOf({ ...input, record: [{ ...record, undoes: 'Amber probably carries a yeast.' }] }),
    );
    expect(other.filter((text) => text.includes(undoes)).length).toBeGreaterThan(1);
  });

  it('tells the last of each measure, also where the last reading took another', () => {
    const reading = { pullId: null, armId: WARM, temperatureC: null, takenMl: null, looks: '', smell: '' };
    const { arms } = storyOf({
      ...bareTrial(),
      readings: [
        { ...reading, at: '2026-03-09', ph: null, sg: 1.01 },
        { ...reading, at: '2026-03-08T23:30:00.000Z', ph: 3.8, sg: null },
      ],
    }).forward;
    expect(arms.find(({ armId }) => armId === WARM)?.readings).toEqual([
      { on: '2026-03-08', text: 'pH 3.80.' },
      { on: '2026-03-09', text: 'specific gravity 1.010.' },
    ]);
  });

  it('stands on what happened: a pull planned for years ahead does not press it together', () => {
    const ahead = { id: 'p9', name: 'in two years', at: '2028-04-10T12:00:00.000Z' };
    expect(storyOf({ ...bareTrial(), sessions, pulls: [ahead] }).axis.last).toBe(40);
    expect(storyOf({ ...bareTrial(), pulls: [ahead] }).axis.last).toBeGreaterThan(700);
  });

  it('gives the reason why two parts of one session are not compared over time', () => {
    const [one] = sessions as [(typeof sessions)[number]];
    const twice = {
      ...one,
      result: {
        ...one.result,
        parts: [...one.result.parts, ...one.result.parts.map((part) => ({ ...part, part: part.part + 2 }))],
      },
    };
    const same = storyOf({ ...bareTrial(), sessions: [twice] });
    expect(same.differences[0]?.sentence).toContain('Asked in one session');
    expect(same.attributes[0]?.sentence).toContain('was marked in one session');
    const both = storyOf({ ...bareTrial(), sessions: [twice, sessions[1]!] });
    expect(both.differences[0]?.sentence).toContain('a session asked for it twice');
    expect(both.attributes[0]?.sentence).toContain('a session had it marked twice');
    expect(both.tests).toBe(0);
  });

  it('leaves out a part that the result withholds, and its marks with it', () => {
    const withheld = sessions.map((session) => ({
      ...session,
      result: { ...session.result, parts: session.result.parts.filter(({ kind }) => kind !== 'rating') },
    }));
    const less = storyOf({ ...bareTrial(), sessions: withheld });
    expect(less.attributes).toEqual([]);
    expect(less.tests).toBe(1);
  });
});

describe('little to tell', () => {
  it('no session, one session, one note', () => {
    expect(storyOf(bareTrial()).finding.headline).toBe('No session of this trial is revealed yet.');
    const one = storyOf({ ...bareTrial(), sessions: sessions.slice(0, 1) });
    expect(one.tests).toBe(0);
    expect(one.finding.lede).toContain('One session is revealed');
    expect(storyLineOf(one).spark).toBeNull();
    expect(storyLineOf(told).spark?.points).toHaveLength(2);
  });
});

describe('the next session', () => {
  const next = (given: Story) => given.forward.next[0]!;

  it('is planned for the lower plausible limit, and keeps its promise at that size', () => {
    const { plan, from } = next(told);
    const last = sessions[0]!.result.parts[0]!;
    if (!isDifferenceKind(last)) throw new Error('the first part is a triangle');
    expect(from).toBe('lower-limit');
    expect(plan?.dPrime).toBe(last.dPrime?.lower);
    expect(plan!.dPrime).toBeLessThan(last.dPrime!.estimate!);
    // People who taste and follow the rule of the test; none of our formulas.
    const { stats, guessRate } = DIFFERENCES[plan!.kind as keyof typeof DIFFERENCES].test;
    const critical = criticalNumber({ n: plan!.assessors, alpha: plan!.alpha, guessRate })!;
    const panel = simulatedPanel(20261127);
    const PANELS = 4000;
    let shown = 0;
    for (let at = 0; at < PANELS; at += 1) {
      let right = 0;
      for (let seat = 0; seat < plan!.assessors; seat += 1)
        right += Number(panel.answer(stats, plan!.dPrime));
      shown += Number(right >= critical);
    }
    const error = Math.sqrt((plan!.power * (1 - plan!.power)) / PANELS);
    expect(plan!.power).toBeGreaterThanOrEqual(0.8);
    expect(Math.abs(shown / PANELS - plan!.power)).toBeLessThan(4 * error);
  });

  it('after a test of likeness takes the risk of a wrong claim as alpha', () => {
    const [one] = sessions as [(typeof sessions)[number]];
    const alike = {
      ...one,
      result: {
        ...one.result,
        parts: one.result.parts.map((part) =>
          isDifferenceKind(part)
            ? { ...part, settings: { ...part.settings, aim: 'similarity' as const, alpha: 0.2, beta: 0.05 } }
            : part,
        ),
      },
    };
    const { plan } = next(storyOf({ ...bareTrial(), sessions: [alike] }));
    expect(plan?.alpha).toBe(0.05);
    expect(plan?.power).toBeGreaterThanOrEqual(0.8);
    expect(plan).toEqual(next(storyOf({ ...bareTrial(), sessions: [one] })).plan);
  });

  it('without anything shown it is planned for the size that matters, and says when people or liquid do not reach', () => {
    const few = [evening(1, { on: '2026-03-04', people: 6, right: 2, more: 0 })];
    const people = next(storyOf({ ...bareTrial(), sessions: few }));
    expect(people.from).toBe('matters');
    expect(people.plan).toBeNull();
    expect(people.sentence).toContain('at most 6 came so far');
    const bare = bareTrial();
    const dry = next(
      storyOf({ ...bare, arms: bare.arms.map((arm) => ({ ...arm, volumeMl: 50 })), sessions }),
    );
    expect(dry.plan).toBeNull();
    expect(dry.sentence).toContain('the liquid left does not reach');
  });
});
