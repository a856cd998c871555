import type { BallotInput } from '@oddglass/shared/contracts/ballot.ts';
import type {
  PartAtSeat,
  SeatView,
  SessionAtSeat,
  SheetAtSeat,
  TrayAtSeat,
} from '@oddglass/shared/contracts/seat.ts';
import { kindOf } from '@oddglass/shared/kinds/kinds.ts';

/** Which sheet: its tray, the number of its part, and its number within both. */
export type SheetPlace = Pick<BallotInput, 'trayId' | 'part' | 'sheet'>;

/** A sheet with everything around it that its question needs. */
export interface Asked {
  tray: TrayAtSeat;
  sheet: SheetAtSeat;
  part: PartAtSeat;
}

/** One text for a sheet, to keep things under. */
export const sheetKey = ({ trayId, part, sheet }: SheetPlace): string => `${trayId} ${part} ${sheet}`;

export const keysOf = (places: readonly SheetPlace[]): ReadonlySet<string> => new Set(places.map(sheetKey));

export const placeOf = ({ tray, sheet }: Asked): SheetPlace => ({
  trayId: tray.id,
  part: sheet.part,
  sheet: sheet.sheet,
});

/** Every sheet of the seat in the order in which they are asked. */
export function allAsked(view: SeatView): Asked[] {
  return [...view.trays]
    .sort((a, b) => a.trayNumber - b.trayNumber)
    .flatMap((tray) =>
      [...tray.sheets]
        .sort((a, b) => a.part - b.part || a.sheet - b.sheet)
        .flatMap((sheet) => {
          const part = view.session.parts[sheet.part - 1];
          return part ? [{ tray, sheet, part }] : [];
        }),
    );
}

/** The sheet at this place; undefined when the seat has none there. */
export function askedAt(view: SeatView, place: SheetPlace): Asked | undefined {
  const key = sheetKey(place);
  return allAsked(view).find((asked) => sheetKey(placeOf(asked)) === key);
}

/** Sheets of the same part on the same tray, in order; late questions beside late questions. */
export const sheetsBeside = ({ tray, sheet }: Pick<Asked, 'tray' | 'sheet'>): SheetAtSeat[] =>
  tray.sheets
    .filter(({ part, late }) => part === sheet.part && (late ?? false) === (sheet.late ?? false))
    .sort((a, b) => a.sheet - b.sheet);

/** Is it the last thing asked on its tray? */
export const isLastOfTray = ({ tray, sheet }: Pick<Asked, 'tray' | 'sheet'>): boolean =>
  tray.sheets.every(
    (other) => other.part < sheet.part || (other.part === sheet.part && other.sheet <= sheet.sheet),
  );

/** Cups in the order of tasting, whatever order they came in. */
export const cupsOf = (tray: TrayAtSeat): TrayAtSeat['servings'] =>
  [...tray.servings].sort((a, b) => a.position - b.position);

export const markedCup = (tray: TrayAtSeat): TrayAtSeat['servings'][number] | undefined =>
  tray.servings.find(({ mark }) => mark !== null);

/** What a sheet is about, within its tray: a code, an attribute, or nothing where it is about the whole tray. */
export function subjectOf({ sheet, part }: Pick<Asked, 'sheet' | 'part'>): string {
  if ('attributes' in part && kindOf(part).sheets(part) === 'attribute') {
    return part.attributes.find(({ id }) => id === sheet.attributeIds[0])?.name ?? '';
  }
  return kindOf(part).sheets(part) === 'cup' ? (sheet.codes[0] ?? '') : '';
}

/** A name to speak of a sheet by: 'tray 2', '431 on tray 2', 'Tartness on tray 2, part 1'. */
export function nameOfSheet(session: Pick<SessionAtSeat, 'parts'>, asked: Asked): string {
  const subject = subjectOf(asked);
  const late = asked.sheet.late ? ', asked late' : '';
  const tray = `tray ${asked.tray.trayNumber}`;
  const several = new Set(asked.tray.sheets.map(({ part }) => part)).size > 1 && session.parts.length > 1;
  return `${subject ? `${subject} on ` : ''}${tray}${several ? `, part ${asked.sheet.part}` : ''}${late}`;
}

/** 'Part 2 of 3, cup 1 of 4': where somebody is, above the heading. Empty when there is only one of each. */
export function whereWords(session: Pick<SessionAtSeat, 'parts'>, asked: Asked, withPlace = true): string {
  const beside = sheetsBeside(asked);
  const place = beside.findIndex(({ sheet }) => sheet === asked.sheet.sheet) + 1;
  const thing = kindOf(asked.part).sheets(asked.part) === 'attribute' ? 'attribute' : 'cup';
  const words = [
    ...(session.parts.length > 1 ? [`part ${asked.sheet.part} of ${session.parts.length}`] : []),
    ...(withPlace && beside.length > 1 ? [`${thing} ${place} of ${beside.length}`] : []),
    ...(asked.tray.warmUp ? ['a tray to get used to the cups, which does not count'] : []),
  ].join(', ');
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** Has the host an answer to it? Also one that was given before the seat came to this tablet, and is not shown here. */
export const isAtHost = ({
  ballot,
  answeredBefore,
}: Pick<SheetAtSeat, 'ballot' | 'answeredBefore'>): boolean => ballot !== null || answeredBefore;
