import { encode } from 'uqr';

/** Modules of light around the code that a reader needs (ISO/IEC 18004: four). */
export const QUIET_ZONE = 4;

export interface QrDrawing {
  /** Modules per side, quiet zone included. */
  size: number;
  /** Dark modules as one SVG path in units of a module. */
  path: string;
}

/** A QR code as one path: each run of dark modules in a row is one rectangle. */
export function qrDrawing(text: string): QrDrawing {
  const { data, size } = encode(text, { ecc: 'M', border: QUIET_ZONE });
  const runs = data.flatMap((row, y) => {
    const rects: string[] = [];
    for (let x = 0; x < row.length; x += 1) {
      if (!row[x]) continue;
      const from = x;
      while (row[x + 1]) x += 1;
      const width = x + 1 - from;
      rects.push(`M${from} ${y}h${width}v1h-${width}z`);
    }
    return rects;
  });
  return { size, path: runs.join('') };
}
