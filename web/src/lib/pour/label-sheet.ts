import type { CupToPour, PourView } from '@oddglass/shared/contracts/pour.ts';
import type { Waves } from '@oddglass/shared/contracts/waves.ts';
import { waveOfSeat } from '@oddglass/shared/rules/waves.ts';
import { bottleName, byCode, byPlace, isWaiting } from './pour-sheet.ts';

/** Plain paper, cut along the hairlines. Millimetres. */
export const LABEL = { width: 45, height: 25 } as const;

export const PAPERS = {
  a4: { name: 'A4', width: 210, height: 297 },
  letter: { name: 'Letter', width: 215.9, height: 279.4 },
} as const;
export type Paper = keyof typeof PAPERS;

export const LABEL_ORDERS = {
  bottle: 'By bottle, for pouring',
  seat: 'By seat, for setting the trays',
} as const;
export type LabelOrder = keyof typeof LABEL_ORDERS;

export interface LabelChoice {
  paper: Paper;
  order: LabelOrder;
  /** Also the cups of spare seats that nobody has taken. */
  spares: boolean;
}

export interface LabelSheet {
  /** Stands in the strip above the labels, which is cut off. */
  strip: string;
  labels: CupToPour[];
}

// The strip and a printer's unprintable edge; what is left over goes to both sides alike.
const EDGE = 8;
const STRIP = 9;

/** Labels across and down one sheet of the paper. */
export function labelGrid(paper: Paper): { columns: number; rows: number } {
  const { width, height } = PAPERS[paper];
  return {
    columns: Math.floor((width - 2 * EDGE) / LABEL.width),
    rows: Math.floor((height - 2 * EDGE - STRIP) / LABEL.height),
  };
}

/** Reads the choice from an address; anything unknown falls back to the first of each. */
export function labelChoice(params: { get(name: string): string | null }): LabelChoice {
  return {
    paper: params.get('paper') === 'letter' ? 'letter' : 'a4',
    order: params.get('order') === 'seat' ? 'seat' : 'bottle',
    spares: params.get('spares') === 'yes',
  };
}

/**
 * The sheets to print. By bottle, every sample begins a sheet of its own, so that a stack of labels goes
 * with one bottle; by seat, trays follow one another as they are set. Where people sit down in waves, those of one wave
 * stand together either way.
 */
export function labelSheets(view: PourView, { paper, order, spares }: LabelChoice): LabelSheet[] {
  const wanted = (cup: CupToPour): boolean => spares || !isWaiting(cup);
  const { columns, rows } = labelGrid(paper);
  const byWave = (a: CupToPour, b: CupToPour): number =>
    view.waves ? waveOfSeat(view.waves, a.seat) - waveOfSeat(view.waves, b.seat) : 0;
  const stacks =
    order === 'bottle'
      ? view.samples.map((sample) => ({
          name: `Bottle: ${bottleName(sample)}`,
          cups: sample.cups
            .filter(wanted)
            .sort((a, b) => byWave(a, b) || a.trayNumber - b.trayNumber || byCode(a, b)),
        }))
      : [
          {
            name: 'By seat',
            cups: view.samples
              .flatMap(({ cups }) => cups)
              .filter(wanted)
              .sort(byPlace),
          },
        ];
  return stacks.flatMap(({ name, cups }) => {
    const parts = chunks(cups, columns * rows);
    return parts.map((labels, index) => ({
      strip: parts.length > 1 ? `${name}, sheet ${index + 1} of ${parts.length}` : name,
      labels,
    }));
  });
}

/** What stands small below the code: where the cup goes, and a mark that everybody may know. */
export function labelPlace(label: CupToPour, trays: number, waves?: Waves): string {
  const wave = waves ? `wave ${waveOfSeat(waves, label.seat)} · ` : '';
  const tray = trays > 1 ? ` · tray ${label.trayNumber}` : '';
  return `${wave}seat ${label.seat}${tray} · place ${label.position}`;
}

function chunks<T>(list: readonly T[], size: number): T[][] {
  return Array.from({ length: Math.ceil(list.length / size) }, (_, index) =>
    list.slice(index * size, (index + 1) * size),
  );
}
