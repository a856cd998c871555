import { pourView, type CupToPour, type PourView } from '@oddglass/shared/contracts/pour.ts';
import { describe, expect, it } from 'vitest';
import {
  LABEL,
  labelChoice,
  labelGrid,
  labelPlace,
  labelSheets,
  PAPERS,
} from '../../web/src/lib/pour/label-sheet.ts';
import {
  bottleName,
  dilutionLines,
  isLocked,
  isWaiting,
  leftToPour,
  roundsOf,
  tallyOf,
  trayName,
  traysBySeat,
} from '../../web/src/lib/pour/pour-sheet.ts';

import { waveAsked, waveName, waveNumbers, wavesToPour } from '../../web/src/lib/pour/pour-waves.ts';

const uuid = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, '0')}`;

/** Twelve expected seats and three spare ones, two trays each; seat 13 is taken. Codes fall as places rise. */
function listOf(): PourView {
  const orders = ['AAB', 'ABA', 'BAA', 'BBA', 'BAB', 'ABB'];
  const bottles: Record<string, CupToPour[]> = { A: [], B: [] };
  let count = 0;
  for (let seat = 1; seat <= 15; seat += 1) {
    for (const replicate of [1, 2]) {
      [...(orders[(seat + replicate) % 6] ?? '')].forEach((letter, index) => {
        count += 1;
        const place = {
          seat,
          trayNumber: replicate,
          part: replicate,
          position: index + 1,
          spare: seat > 12,
          seatTaken: seat === 13,
          mark: null,
        };
        bottles[letter]?.push({
          servingId: uuid(count),
          code: String(990 - count),
          ...place,
          poured: count <= 6,
        });
      });
    }
  }
  const sample = (id: number, arm: string, cups: CupToPour[] = []) => ({
    id: uuid(id),
    arm,
    spike: null,
    allergens: [],
    safety: null,
    allergensUnknown: false,
    dose: null,
    recipe: null,
    dilution: null,
    cups,
  });
  return pourView.parse({
    title: 'Pale table beer',
    fingerprint: '7F3A·91C2·E04B',
    root: '7f3a',
    demo: true,
    trialId: '00000000-0000-4000-8000-00000000000d',
    conditions: null,
    cupMl: 40,
    servingNote: '',
    trays: 2,
    parts: ['triangle', 'tetrad'],
    samples: [sample(901, '14 °C vessel', bottles['A']), sample(902, '22 °C vessel', bottles['B'])],
    othersWithKey: [],
  });
}

const allCups = (view: PourView): CupToPour[] => view.samples.flatMap(({ cups }) => cups);

describe('pour list', () => {
  it('counts cups and millilitres for expected and taken seats, and spare cups apart', () => {
    const view = listOf();
    const tallies = view.samples.map(({ cups }) => tallyOf(cups, view.cupMl));
    // 13 seats with two trays of three cups; two free spare seats wait.
    expect(tallies.reduce((sum, { cups }) => sum + cups, 0)).toBe(13 * 6);
    expect(tallies.reduce((sum, { waiting }) => sum + waiting, 0)).toBe(2 * 6);
    for (const { cups, millilitres } of tallies) expect(millilitres).toBe(cups * 40);
    expect(tallies.reduce((sum, { poured }) => sum + poured, 0)).toBe(6);
  });

  it('counts a spare cup that was poured after all: its liquid is gone', () => {
    const [cup] = allCups(listOf()).filter(isWaiting);
    expect(tallyOf(cup ? [{ ...cup, poured: true }] : [], 40)).toEqual({
      cups: 1,
      poured: 1,
      millilitres: 40,
      waiting: 0,
    });
  });

  it('goes round by round and by code within a round', () => {
    const [sample] = listOf().samples;
    const rounds = roundsOf(sample?.cups ?? []);
    expect(rounds.map(({ trayNumber }) => trayNumber)).toEqual([1, 2]);
    for (const { trayNumber, cups } of rounds) {
      const codes = cups.map((cup) => Number(cup.code));
      expect(codes).toEqual([...codes].sort((a, b) => a - b));
      expect(new Set(cups.map((cup) => cup.trayNumber))).toEqual(new Set([trayNumber]));
    }
  });
});

describe('tray map', () => {
  it('shows every seat once, three cups left to right per tray, and no sample', () => {
    const view = listOf();
    const seats = traysBySeat(view);
    expect(seats.map(({ seat }) => seat)).toEqual(Array.from({ length: 15 }, (_, index) => index + 1));
    for (const { seat, trays } of seats) {
      expect(trays.map(({ trayNumber }) => trayNumber)).toEqual([1, 2]);
      for (const { cups } of trays) {
        expect(cups.map(({ position }) => position)).toEqual([1, 2, 3]);
        expect(new Set(cups.map((cup) => cup.seat))).toEqual(new Set([seat]));
      }
    }
    expect(JSON.stringify(seats)).not.toMatch(/14 °C|22 °C/);
    for (const { id } of view.samples) expect(JSON.stringify(seats)).not.toContain(id);
  });
});

describe('names on the sheets', () => {
  it('say part and tray where there are several, and neither where there is one', () => {
    const view = listOf();
    expect(trayName(view, { trayNumber: 2, part: 2 })).toBe('Tray 2: part 2, tetrad');
    expect(trayName({ ...view, parts: ['triangle'] }, { trayNumber: 2, part: 1 })).toBe('Tray 2');
    expect(trayName({ ...view, parts: ['rating'], trays: 1 }, { trayNumber: 1, part: 1 })).toBe('Tray');
  });

  it('keep a spiked bottle apart from the arm as it is', () => {
    expect(bottleName({ arm: 'Oak', spike: null })).toBe('Oak');
    expect(bottleName({ arm: 'Oak', spike: 'vanilla, 1 drop per litre' })).toBe(
      'Oak + vanilla, 1 drop per litre',
    );
  });

  it('hold a spiked bottle back until somebody else looked, and say who measured and who looked', () => {
    const dilution = {
      measurement: 1,
      amount: '3.6 mL',
      volumeMl: 360.5,
      measuredBy: 'Ann',
      byYou: false,
      measuredAt: '2031-03-04T18:00:00.000Z',
      standing: 'waiting' as const,
      settledBy: null,
      settledAt: null,
    };
    const spike = 'vanilla';
    expect(isLocked({ spike: null, dilution: null })).toBe(false);
    expect(isLocked({ spike, dilution: null })).toBe(true);
    expect(isLocked({ spike, dilution })).toBe(true);
    for (const standing of ['checked', 'alone', 'others-absent'] as const) {
      expect(isLocked({ spike, dilution: { ...dilution, standing } })).toBe(false);
    }
    expect(dilutionLines(dilution)[0]).toBe('Measured by Ann: 3.6 mL, in 360.5 mL.');
    const checked = { ...dilution, byYou: true, standing: 'checked' as const, settledBy: 'Ben' };
    expect(dilutionLines(checked)).toEqual(['Measured by you: 3.6 mL, in 360.5 mL.', 'Checked by Ben.']);
    expect(dilutionLines({ ...dilution, standing: 'alone' })[1]).toMatch(
      /^Not checked: nobody else has the key/,
    );
  });

  it('ask for the dose of what is left to pour, of everything once all is', () => {
    const view = listOf();
    const cups = view.samples[0]?.cups ?? [];
    const due = cups.filter((cup) => !isWaiting(cup));
    const left = due.filter(({ poured }) => !poured).length;
    expect(left).toBeLessThan(due.length);
    expect(leftToPour(cups, 40)).toBe(left * 40);
    expect(
      leftToPour(
        due.map((cup) => ({ ...cup, poured: true })),
        40,
      ),
    ).toBe(due.length * 40);
  });

  it('tell on a label where the cup goes', () => {
    const [cup] = allCups(listOf());
    if (!cup) throw new Error('no cup');
    expect(labelPlace({ ...cup, seat: 4, trayNumber: 2, position: 3 }, 2)).toBe('seat 4 · tray 2 · place 3');
    expect(labelPlace({ ...cup, seat: 4, trayNumber: 1, position: 3 }, 1)).toBe('seat 4 · place 3');
  });
});

describe('labels', () => {
  it('fit the paper', () => {
    for (const paper of ['a4', 'letter'] as const) {
      const { columns, rows } = labelGrid(paper);
      expect(columns * LABEL.width).toBeLessThanOrEqual(PAPERS[paper].width - 10);
      // 8 mm above, 9 mm of strip, 8 mm below.
      expect(8 + 9 + rows * LABEL.height + 8).toBeLessThanOrEqual(PAPERS[paper].height);
    }
  });

  it('give every cup one label, in either order and on either paper', () => {
    const view = listOf();
    for (const paper of ['a4', 'letter'] as const) {
      for (const order of ['bottle', 'seat'] as const) {
        for (const spares of [true, false]) {
          const labels = labelSheets(view, { paper, order, spares }).flatMap((sheet) => sheet.labels);
          const wanted = allCups(view).filter((cup) => spares || !isWaiting(cup));
          expect(labels.map(({ code }) => code).sort()).toEqual(wanted.map(({ code }) => code).sort());
        }
      }
    }
  });

  it('begin a sheet of their own for each bottle, and never mix bottles', () => {
    const view = listOf();
    const sheets = labelSheets(view, { paper: 'a4', order: 'bottle', spares: true });
    for (const sheet of sheets) {
      const bottles = view.samples.filter(({ cups }) => sheet.labels.some((label) => cups.includes(label)));
      expect(bottles).toHaveLength(1);
      expect(sheet.strip).toContain(bottles[0]?.arm);
    }
  });

  it('tell no bottle when they are sorted by seat', () => {
    const sheets = labelSheets(listOf(), { paper: 'letter', order: 'seat', spares: true });
    expect(JSON.stringify(sheets)).not.toMatch(/14 °C|22 °C/);
    const places = sheets.flatMap(({ labels }) =>
      labels.map(({ seat, trayNumber, position }) => seat * 100 + trayNumber * 10 + position),
    );
    expect(places).toEqual([...places].sort((a, b) => a - b));
  });

  it('read the choice from an address and fall back where it makes no sense', () => {
    expect(labelChoice(new URLSearchParams('paper=letter&order=seat&spares=yes'))).toEqual({
      paper: 'letter',
      order: 'seat',
      spares: true,
    });
    expect(labelChoice(new URLSearchParams('paper=a3&order=random'))).toEqual({
      paper: 'a4',
      order: 'bottle',
      spares: false,
    });
  });
});

describe('a pour list in waves', () => {
  const waves = (called: number) => ({ seatsAtOnce: 4, seats: 15, called });
  const view = (called: number): PourView => ({ ...listOf(), waves: waves(called) });
  const cupsOf = (list: PourView) => list.samples[0]?.cups ?? [];
  const orderAt = (called: number) =>
    wavesToPour(cupsOf(view(called)), waves(called), null).map(
      ({ wave, soon }) => `${wave}${soon ? ' soon' : ''}`,
    );

  it('has the cups of the wave called now and of the next one first', () => {
    expect(orderAt(0)).toEqual(['1 soon', '2 soon', '3', '4']);
    expect(orderAt(1)).toEqual(['1 soon', '2 soon', '3', '4']);
    expect(orderAt(2)).toEqual(['2 soon', '3 soon', '1', '4']);
    expect(orderAt(4)).toEqual(['4 soon', '1', '2', '3']);
  });

  it('has every cup once, with its seats', () => {
    const all = wavesToPour(cupsOf(view(2)), waves(2), null);
    expect(all.flatMap(({ cups }) => cups).length).toBe(cupsOf(view(2)).length);
    for (const { wave, cups } of all)
      for (const { seat } of cups) expect(Math.ceil(seat / 4), `seat ${seat}`).toBe(wave);
  });

  it('is narrowed to one wave by its address, and by what is no wave to none', () => {
    const only = wavesToPour(cupsOf(view(1)), waves(1), 4);
    expect(only.map(({ wave, soon }) => [wave, soon])).toEqual([[4, true]]);
    const asked = (typed: string) => waveAsked(view(1), new URLSearchParams(typed));
    expect(['wave=1', 'wave=4'].map(asked)).toEqual([1, 4]);
    expect(['', 'wave=', 'wave=0', 'wave=5', 'wave=-1', 'wave=1.5', 'wave=two'].map(asked)).toEqual(
      Array.from({ length: 7 }, () => null),
    );
  });

  it('is one list without waves', () => {
    const cups = cupsOf(listOf());
    expect(wavesToPour(cups, undefined, null)).toEqual([{ wave: null, name: '', soon: true, cups }]);
    expect(waveAsked(listOf(), new URLSearchParams('wave=1'))).toBeNull();
    expect(waveNumbers(listOf())).toEqual([]);
  });

  it('says of a wave which seats it has and whether it is called', () => {
    expect([1, 2, 3, 4].map((wave) => waveName(waves(2), wave))).toEqual([
      'Wave 1, seats 1 to 4, called before',
      'Wave 2, seats 5 to 8, called now',
      'Wave 3, seats 9 to 12, called next',
      'Wave 4, seats 13 to 15',
    ]);
    expect(waveName(waves(0), 1)).toBe('Wave 1, seats 1 to 4');
    expect(waveName({ seatsAtOnce: 1, seats: 2, called: 0 }, 2)).toBe('Wave 2, seat 2');
  });

  it('has its labels wave by wave, each with its wave beside the seat', () => {
    for (const order of ['bottle', 'seat'] as const) {
      const sheets = labelSheets(view(1), { paper: 'a4', order, spares: true });
      for (const stack of Map.groupBy(sheets, ({ strip }) => strip.replace(/, sheet.*/, '')).values()) {
        const inOrder = stack.flatMap(({ labels }) => labels.map(({ seat }) => Math.ceil(seat / 4)));
        expect(inOrder).toEqual(inOrder.toSorted((a, b) => a - b));
      }
    }
    const [cup] = cupsOf(view(1));
    expect(labelPlace({ ...cup!, seat: 5, trayNumber: 2, position: 3 }, 2, waves(1))).toBe(
      'wave 2 · seat 5 · tray 2 · place 3',
    );
    expect(labelPlace({ ...cup!, seat: 5, trayNumber: 2, position: 3 }, 2)).toBe('seat 5 · tray 2 · place 3');
  });
});
