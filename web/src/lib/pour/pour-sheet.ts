import { kindInWords } from '#lib/session/part-words.ts';
import { plain } from '@oddglass/shared/ground/phrases.ts';
import type { CupToPour, Dilution, PourView } from '@oddglass/shared/contracts/pour.ts';

export type Sample = PourView['samples'][number];

/** Cups of one sample that belong to one round of trays. */
export interface Round {
  trayNumber: number;
  /** The part these trays are for, from 1. */
  part: number;
  cups: CupToPour[];
}

/** What one sample asks of its bottle. Cups of empty spare seats are counted apart. */
export interface Tally {
  cups: number;
  poured: number;
  millilitres: number;
  waiting: number;
}

export interface Tray {
  trayNumber: number;
  /** The part it is for, from 1. */
  part: number;
  /** Left to right. */
  cups: CupToPour[];
}

export interface SeatTrays {
  seat: number;
  spare: boolean;
  seatTaken: boolean;
  trays: Tray[];
}

/** The place of an address, by its number; null: all of them, or there is one. */
export function siteIn(view: PourView, params: { get(name: string): string | null }): number | null {
  const [only, ...others] = view.sites ?? [];
  // A server that pours for one place of a plan has nothing to choose.
  if (only && others.length === 0) return only.site;
  const asked = Number(params.get('site'));
  return view.sites?.some(({ site }) => site === asked) ? asked : null;
}

/** The list as it is for one place: its seats, and bottles that are poured there. */
export function viewAt(view: PourView, site: number | null): PourView {
  const run = view.sites?.find((one) => one.site === site);
  if (!run) return view;
  const samples = view.samples
    .map((sample) => ({
      ...sample,
      cups: sample.cups.filter(({ seat }) => seat >= run.first && seat <= run.last),
    }))
    .filter(({ cups }) => cups.length > 0);
  return { ...view, samples };
}

/** The name of the place a seat is at; null where there is one place. */
export function siteName({ sites = [] }: Pick<PourView, 'sites'>, seat: number): string | null {
  return sites.find(({ first, last }) => seat >= first && seat <= last)?.name ?? null;
}

/** A spare seat's cups wait until somebody sits there. */
export function isWaiting(cup: CupToPour): boolean {
  return cup.spare && !cup.seatTaken;
}

/** Cups and millilitres of a sample for the expected and the taken seats. */
export function tallyOf(cups: readonly CupToPour[], cupMl: number): Tally {
  const due = cups.filter((cup) => !isWaiting(cup) || cup.poured);
  return {
    cups: due.length,
    poured: due.filter((cup) => cup.poured).length,
    millilitres: due.length * cupMl,
    waiting: cups.length - due.length,
  };
}

/** The cups in rounds, as they go to the table: tray 1 of everybody, then tray 2. By code within. */
export function roundsOf(cups: readonly CupToPour[]): Round[] {
  const numbers = [...new Set(cups.map((cup) => cup.trayNumber))].sort((a, b) => a - b);
  return numbers.map((trayNumber) => {
    const round = cups.filter((cup) => cup.trayNumber === trayNumber).sort(byCode);
    return { trayNumber, part: round[0]?.part ?? 1, cups: round };
  });
}

/** The trays of every seat, without a word of what is in the cups. */
export function traysBySeat(view: PourView): SeatTrays[] {
  const seats = new Map<number, SeatTrays>();
  for (const cup of view.samples.flatMap((sample) => sample.cups).sort(byPlace)) {
    const at = seats.get(cup.seat) ?? {
      seat: cup.seat,
      spare: cup.spare,
      seatTaken: cup.seatTaken,
      trays: [],
    };
    seats.set(cup.seat, at);
    const tray = at.trays.find(({ trayNumber }) => trayNumber === cup.trayNumber);
    if (tray) tray.cups.push(cup);
    else at.trays.push({ trayNumber: cup.trayNumber, part: cup.part, cups: [cup] });
  }
  return [...seats.values()];
}

/** Codes that stand on more than one cup: large sessions run out of them, and then the seat tells which. */
export function repeatedCodes(view: PourView): Set<string> {
  const seen = new Set<string>();
  const repeated = new Set<string>();
  for (const { code } of view.samples.flatMap((sample) => sample.cups)) {
    if (seen.has(code)) repeated.add(code);
    seen.add(code);
  }
  return repeated;
}

/** By code: says nothing about seat or place. */
export function byCode(a: CupToPour, b: CupToPour): number {
  return Number(a.code) - Number(b.code);
}

/** By seat, tray and place on the tray. */
export function byPlace(a: CupToPour, b: CupToPour): number {
  return a.seat - b.seat || a.trayNumber - b.trayNumber || a.position - b.position;
}

/** What is in hand: an arm, and whether something is added to it first. */
export function bottleName({ arm, spike }: Pick<Sample, 'arm' | 'spike'>): string {
  return spike === null ? arm : `${arm} + ${spike}`;
}

/** Is this a spiked bottle whose dilution nobody has confirmed yet? */
export function isLocked({ spike, dilution }: Pick<Sample, 'spike' | 'dilution'>): boolean {
  return spike !== null && (dilution === null || dilution.standing === 'waiting');
}

/** mL of a bottle that are still to be poured for expected and taken seats; all of them once nothing is. */
export function leftToPour(cups: readonly CupToPour[], cupMl: number): number {
  const { cups: due, poured, millilitres } = tallyOf(cups, cupMl);
  return (due - poured) * cupMl || millilitres;
}

/** Who measured a dilution and who looked at it, in a sentence each. */
export function dilutionLines(dilution: Dilution): string[] {
  const { amount, volumeMl, measuredBy, byYou, standing, settledBy } = dilution;
  const maker = byYou ? 'you' : (measuredBy ?? 'an account that is gone');
  return [`Measured by ${maker}: ${amount}, in ${plain(volumeMl)} mL.`, checkedLine(standing, settledBy)];
}

function checkedLine(standing: Dilution['standing'], settledBy: string | null): string {
  switch (standing) {
    case 'waiting':
      return 'Not checked yet: no cup of it is poured.';
    case 'checked':
      return `Checked by ${settledBy ?? 'an account that is gone'}.`;
    case 'alone':
      return 'Not checked: nobody else has the key. The result will say so.';
    case 'others-absent':
      return 'Not checked: nobody else with the key was there. The result will say so.';
  }
}

/** A tray in words: 'Tray 2', with its part where there are several. */
export function trayName({ trays, parts }: PourView, { trayNumber, part }: Omit<Tray, 'cups'>): string {
  const kind = parts.length > 1 ? `: part ${part}, ${kindInWords(parts[part - 1] ?? '')}` : '';
  return (trays > 1 ? `Tray ${trayNumber}` : 'Tray') + kind;
}
