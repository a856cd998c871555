import type { Part, PartKind } from '@oddglass/shared/contracts/part.ts';
import { kindOf } from '@oddglass/shared/kinds/kinds.ts';
import { cupsOnTray, sheetsOfTray, traysOfPart } from '@oddglass/shared/rules/parts.ts';

/** One question on a tray, as the board counts it. */
export interface SheetOnWay {
  /** Number of its part, from 1. */
  part: number;
  kind: PartKind;
  /** Place among the sheets of this part on this tray, from 1, and how many those are. */
  sheet: number;
  of: number;
  /** What the sheets of the part go through: its cups, its attributes, or neither. */
  each: 'cup' | 'attribute' | null;
  /** It is the late question of its cup. */
  late?: true;
}

export interface TrayOnWay {
  /** Cups on it, marked ones too. */
  cups: number;
  /** Sheets answered before it, over all earlier trays. */
  before: number;
  sheets: SheetOnWay[];
}

/** What every seat goes through, tray by tray; it follows from the parts and tells nothing of what is in the cups. */
export interface SeatWay {
  parts: number;
  trays: TrayOnWay[];
  sheets: number;
  cups: number;
}

/** The way of a seat through the parts of a session: trays stand in the order of their parts. */
export function wayOf(parts: readonly Part[]): SeatWay {
  const trays: TrayOnWay[] = [];
  let before = 0;
  parts.forEach((part, index) => {
    const { cups, asked } = cupsOnTray(part);
    for (let count = 0; count < traysOfPart(part); count += 1) {
      const servings = Array.from({ length: asked }, (_, at) => ({
        position: at + 1,
        code: String(at + 1),
        mark: null,
      }));
      const listed = sheetsOfTray(parts, { part: index + 1, servings });
      const sheets = listed.map(({ part: number, sheet, late }): SheetOnWay => {
        const asking = parts[number - 1] ?? part;
        const beside = listed.filter((one) => one.part === number && (one.late ?? false) === (late ?? false));
        return {
          part: number,
          kind: asking.kind,
          sheet: beside.findIndex((one) => one.sheet === sheet) + 1,
          of: beside.length,
          each: goesThrough(asking),
          ...(late && { late }),
        };
      });
      trays.push({ cups, before, sheets });
      before += sheets.length;
    }
  });
  return {
    parts: parts.length,
    trays,
    sheets: before,
    cups: trays.reduce((sum, { cups }) => sum + cups, 0),
  };
}

function goesThrough(part: Part): SheetOnWay['each'] {
  const by = kindOf(part).sheets(part);
  return by === 'tray' ? null : by;
}
