import type { PartAtSeat, Word } from '@oddglass/shared/contracts/seat.ts';
import type { PaperFacts, PaperSheet } from '@oddglass/shared/paper/form.ts';

// Ballots on paper of one seat for tests, without a server.

export const WORDS: Word[] = ['banana', 'clove', 'bread', 'honey', 'smoke'].map((word) => ({
  id: word,
  word,
  family: 'Invented',
  meaning: '',
  found: [],
}));

export const CODES = ['431', '207', '658'];

const sheetsBy = (part: number, codes: string[], attributeIds: string[] = []): PaperSheet[] =>
  codes.map((code, at) => ({ part, sheet: at + 1, codes: [code], attributeIds }));

/** One tray of three cups, on which these parts are asked; sheets as the parts lay them. */
export function oneTray(parts: PartAtSeat[], change: Partial<PaperFacts> = {}): PaperFacts {
  return {
    parts,
    smellOnly: false,
    words: WORDS,
    trays: [
      {
        id: '00000000-0000-4000-8000-000000000001',
        trayNumber: 1,
        warmUp: false,
        servings: CODES.map((code, at) => ({ position: at + 1, code, mark: null })),
        sheets: parts.flatMap((part, at) => sheetsOf(part, at + 1)),
      },
    ],
    ...change,
  };
}

function sheetsOf(part: PartAtSeat, number: number): PaperSheet[] {
  const whole: PaperSheet = { part: number, sheet: 1, codes: CODES, attributeIds: [] };
  switch (part.kind) {
    case 'rating': {
      const ids = part.attributes.map(({ id }) => id);
      return part.by === 'sample'
        ? sheetsBy(number, CODES, ids)
        : ids.map((id, at) => ({ part: number, sheet: at + 1, codes: CODES, attributeIds: [id] }));
    }
    case 'description':
      return part.late
        ? CODES.flatMap((code, at) => [
            { part: number, sheet: 2 * at + 1, codes: [code], attributeIds: [] },
            { part: number, sheet: 2 * at + 2, codes: [code], attributeIds: [], late: true },
          ])
        : sheetsBy(number, CODES);
    case 'control':
    case 'liking':
      return sheetsBy(number, CODES);
    default:
      return [whole];
  }
}
