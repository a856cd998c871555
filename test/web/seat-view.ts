import type { Answer, BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { PartAtSeat, SeatView, TrayAtSeat } from '@oddglass/shared/contracts/seat.ts';
import type { CupMark } from '@oddglass/shared/contracts/session.ts';
import type { SheetPlace } from '../../web/src/lib/seat/tray/sheets.ts';

export const uuid = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, '0')}`;

interface TrayDraft {
  /** Part it was poured for, from 1. */
  part: number;
  codes: string[];
  /** Mark of the first cup. */
  mark?: CupMark | null;
}

const PER_CUP: readonly PartAtSeat['kind'][] = ['description', 'control', 'liking'];

/** Sheets as the server lays them: see `shared/rules/parts.ts`, whose parts have samples that a seat never learns. */
function sheetsOf(part: PartAtSeat, number: number, codes: string[]): TrayAtSeat['sheets'] {
  const sheet = (at: number, asked: string[], attributeIds: string[] = []) => ({
    part: number,
    sheet: at + 1,
    codes: asked,
    attributeIds,
    ballot: null,
    answeredBefore: false,
  });
  if (part.kind === 'rating') {
    const ids = part.attributes.map(({ id }) => id);
    return part.by === 'sample'
      ? codes.map((code, at) => sheet(at, [code], ids))
      : ids.map((id, at) => sheet(at, codes, [id]));
  }
  return PER_CUP.includes(part.kind) ? codes.map((code, at) => sheet(at, [code])) : [sheet(0, codes)];
}

/** An open tasting of these parts at seat 7. Parts without a tray of their own are asked on the cups before them. */
export function viewOf(parts: PartAtSeat[], trays: TrayDraft[]): SeatView {
  const own = new Set(trays.map(({ part }) => part));
  const cupsOfPart = (number: number): number => (own.has(number) ? number : cupsOfPart(number - 1));
  return {
    seat: 7,
    session: {
      title: 'Invented ale',
      state: 'open',
      demo: true,
      rehearsal: false,
      masking: false,
      smellOnly: false,
      stopped: false,
      parts,
      trays: trays.length,
      restSeconds: 60,
      fingerprint: 'f',
      root: '',
      answersRoot: null,
      cautions: { allergens: [], allergensUnknown: false, ethanolGrams: null, cups: 6, cupMl: 40 },
    },
    cautionsConfirmedAt: '2026-01-01T00:00:00.000Z',
    consent: null,
    withdrawn: false,
    handedOver: false,
    trays: trays.map(({ part, codes, mark = null }, index) => ({
      id: uuid(index + 1),
      trayNumber: index + 1,
      part,
      warmUp: false,
      // Sorted by code, as rows arrive that must tell nothing.
      servings: codes
        .map((code, at) => ({
          id: uuid((index + 1) * 100 + at),
          position: at + 1,
          code,
          mark: at === 0 ? mark : null,
        }))
        .sort((a, b) => a.code.localeCompare(b.code)),
      sheets: parts.flatMap((asked, at) =>
        cupsOfPart(at + 1) === part ? sheetsOf(asked, at + 1, mark ? codes.slice(1) : codes) : [],
      ),
    })),
    progress: null,
    restLeftMs: 0,
    words: [],
  };
}

export function receiptAt(view: SeatView, place: SheetPlace, answer?: Answer): BallotReceipt {
  const tray = view.trays.find(({ id }) => id === place.trayId);
  return {
    id: uuid(900),
    ...place,
    trayNumber: tray?.trayNumber ?? 0,
    answer: answer ?? { kind: 'choice', chosen: ['417'], confidence: 'guess', descriptors: [] },
    comment: '',
    receivedAt: '2026-01-01T00:00:00.000Z',
  };
}

/** The view after the host has an answer for a sheet. */
export function withAnswer(view: SeatView, place: SheetPlace): SeatView {
  const ballot = receiptAt(view, place);
  return {
    ...view,
    trays: view.trays.map((tray) => ({
      ...tray,
      sheets: tray.sheets.map((sheet) =>
        tray.id === place.trayId && sheet.part === place.part && sheet.sheet === place.sheet
          ? { ...sheet, ballot }
          : sheet,
      ),
    })),
  };
}
