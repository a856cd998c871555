import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { Caller, type Answer } from './app.ts';
import { ballotId, trianglePart } from './factories.ts';
import type { Truth } from './leaks.ts';

/** What somebody got: headers, and below them the body. */
export interface Heard {
  who: 'host' | 'assessor' | 'stranger';
  what: string;
  state: string;
  status: number;
  text: string;
}

/** Its body; null where that is no JSON. */
export function jsonOf({ text }: Heard): unknown {
  const body = text.slice(text.indexOf('\n') + 1);
  try {
    return JSON.parse(body);
  } catch {
    return null;
  }
}

export const SPIKE = 'a pinch of cardamom';

/** A triangle; a rating with a hidden duplicate and a spiked sample, described on the same cups; two-out-of-five. */
export function partsOf(of: TrialView): Part[] {
  const [first, second] = of.arms.map(({ id }) => id) as [string, string];
  const flight = { replicates: 1, cupsEach: null, alpha: 0.05 };
  return [
    trianglePart(of),
    {
      kind: 'rating',
      ...flight,
      cups: 'own',
      samples: [
        { armId: first, role: 'sample', spike: null },
        { armId: second, role: 'sample', spike: null },
        { armId: first, role: 'duplicate', spike: null },
        { armId: second, role: 'spiked', spike: SPIKE, spikeAbv: 'none', spikeAllergens: [] },
      ],
      attributes: [{ id: 'sourness', name: 'sourness', low: 'none', high: 'strong' }],
      scale: 'line',
      by: 'sample',
      returning: false,
    },
    {
      kind: 'description',
      ...flight,
      cups: 'before',
      samples: [],
      words: null,
      intensity: false,
      late: { words: ['mousy', 'bitter'], seconds: 60 },
    },
    { ...trianglePart(of), kind: 'two-out-of-five' },
  ];
}

/** Marks and words that go with what is in the cup: whoever saw them would know the cups. */
export async function rateAndDescribe(
  tablet: Caller,
  tray: SeatView['trays'][number],
  truth: Truth,
): Promise<Answer<unknown>[]> {
  const heard: Answer<unknown>[] = [];
  const inCup = (code: string) => truth.classes.get(`code:${code}`) ?? '';
  const order = [...new Set(truth.classes.values())].sort();
  for (const { part, sheet, codes, late } of tray.sheets) {
    const [code = ''] = codes;
    const place = order.indexOf(inCup(code));
    await tablet.ok('POST', '/api/seat/progress', {
      trayNumber: 2,
      part,
      sheet,
      step: 'answering',
      position: null,
    });
    const answer =
      part === 2
        ? { kind: 'rating', marks: [{ code, attributeId: 'sourness', value: 10 * place }] }
        : late
          ? { kind: 'late', words: [place % 2 === 0 ? 'mousy' : 'bitter'], none: false }
          : {
              kind: 'description',
              words: [{ id: place % 2 === 0 ? 'banana' : 'clove', intensity: null }],
              ownWords: [],
              none: false,
            };
    const ballot = { id: ballotId(), trayId: tray.id, part, sheet, answer, comment: '' };
    const sent = await tablet.call('POST', '/api/seat/ballots', ballot);
    if (sent.status !== 200) throw new Error(sent.text);
    heard.push(sent);
  }
  return heard;
}

/** The right two of five: whoever heard of it would know the cups. */
export async function chooseTwo(
  tablet: Caller,
  tray: SeatView['trays'][number],
  truth: Truth,
): Promise<Answer<unknown>> {
  const codes = tray.servings.map(({ code }) => code);
  const inCup = (code: string) => truth.classes.get(`code:${code}`);
  const two = codes.filter((code) => codes.filter((other) => inCup(other) === inCup(code)).length === 2);
  for (const { position } of tray.servings) {
    await tablet.ok('POST', '/api/seat/progress', {
      trayNumber: 3,
      part: 4,
      sheet: 1,
      step: 'tasting',
      position,
    });
  }
  const answer = { kind: 'choice', chosen: two, confidence: 'certain', descriptors: [] };
  const ballot = { id: ballotId(), trayId: tray.id, part: 4, sheet: 1, answer, comment: '' };
  const sent = await tablet.call('POST', '/api/seat/ballots', ballot);
  if (sent.status !== 200) throw new Error(sent.text);
  return sent;
}

/** A tablet of somebody who has finished goes to the next person: what it gets, and what the door shows it. */
export async function passOn(tablet: Caller): Promise<[string, Answer<unknown>][]> {
  const passed = await tablet.call<{ token: string }>('POST', '/api/seat/pass-on', {});
  const door = await new Caller(tablet.app).call('POST', '/api/join', { token: passed.body.token });
  if (passed.status !== 200 || door.status !== 200)
    throw new Error(`not handed on: ${passed.text} ${door.text}`);
  return [
    ['POST /api/seat/pass-on', passed],
    ['POST /api/join', door],
  ];
}
