import type { ReceiptRow, ReceiptView } from '@oddglass/shared/contracts/receipt.ts';
import { isPartKind, KINDS } from '@oddglass/shared/kinds/kinds.ts';

/** Answers of one tray in one part, as one block on the page. */
export interface ReceiptBlock {
  heading: string;
  lines: { what: string; value: string }[];
  comments: string[];
}

const kindName = (kind: string): string => (isPartKind(kind) ? KINDS[kind].names.heading : kind);

/** Own answers in words, tray by tray. Samples are named once the key is open. */
export function receiptBlocks({ answers, comments }: ReceiptView): ReceiptBlock[] {
  const blocks = new Map<string, ReceiptBlock>();
  const blockOf = (part: number, trayNumber: number, kind: string | null): ReceiptBlock => {
    const key = `${part} ${trayNumber}`;
    const block = blocks.get(key) ?? {
      heading: `Part ${part}${kind === null ? '' : `, ${kindName(kind).toLowerCase()}`}: tray ${trayNumber}`,
      lines: [],
      comments: [],
    };
    blocks.set(key, block);
    return block;
  };
  for (const row of answers) blockOf(row.part, row.trayNumber, row.kind).lines.push(lineOf(row));
  for (const { part, trayNumber, text } of comments) blockOf(part, trayNumber, null).comments.push(text);
  return [...blocks.values()];
}

function lineOf({ position, sample, arm, question, value, unit }: ReceiptRow): {
  what: string;
  value: string;
} {
  const cup = position === null ? null : `cup ${position} from the left`;
  const known = sample ?? arm;
  const named = cup === null ? known : known === null ? cup : `${cup} (${known})`;
  return {
    what: named === null ? question : `${question}, ${named}`,
    value: valueWords(value, unit),
  };
}

const CONFIDENCE: Readonly<Record<string, string>> = { 'fairly-sure': 'fairly sure', guess: 'a guess' };

/** A value as a person said it; units of tables that are made for computing are put in words. */
function valueWords(value: ReceiptRow['value'], unit: string): string {
  if (value === null) return 'nothing';
  if (unit === '0 or 1') return value === 1 ? 'yes' : 'no';
  const said = typeof value === 'string' ? (CONFIDENCE[value] ?? value) : String(value);
  return unit === '' ? said : `${said} (${unit})`;
}
