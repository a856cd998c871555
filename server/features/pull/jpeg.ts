/** A JPEG without what cameras and programs write into it, and its sides in pixels. */
export interface BareJpeg {
  jpeg: Uint8Array;
  width: number;
  height: number;
}

const SOI = 0xd8;
const EOI = 0xd9;
const SOS = 0xda;
const TEM = 0x01;
const isRestart = (marker: number): boolean => marker >= 0xd0 && marker <= 0xd7;
// Frames of every coding, but for the tables that have numbers among them: DHT, JPG, DAC.
const isFrame = (marker: number): boolean =>
  marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);
const isApplication = (marker: number): boolean => marker >= 0xe0 && marker <= 0xef;
const COMMENT = 0xfe;

/**
 * Takes a JPEG apart and leaves out every application segment and comment (Exif, XMP, IPTC, colour profiles, previews)
 * but JFIF's own without a thumbnail and Adobe's, which say how colours are coded; and whatever stands after the end of the
 * image. Null for what is no whole JPEG. Source: ITU-T T.81, annex B.
 */
export function bareJpeg(bytes: Uint8Array): BareJpeg | null {
  if (bytes[0] !== 0xff || bytes[1] !== SOI) return null;
  const kept: Uint8Array[] = [bytes.subarray(0, 2)];
  let sides: { width: number; height: number } | null = null;
  let at = 2;
  let scans = 0;
  for (;;) {
    if (bytes[at] !== 0xff) return null;
    let marker = bytes[at + 1];
    // A marker may be led by any number of fill bytes.
    while (marker === 0xff) marker = bytes[++at + 1];
    if (marker === undefined || marker === 0 || marker === SOI) return null;
    if (marker === EOI) {
      if (sides === null || scans === 0) return null;
      kept.push(Uint8Array.of(0xff, EOI));
      return { jpeg: Buffer.concat(kept), ...sides };
    }
    if (marker === TEM || isRestart(marker)) return null;
    const length = ((bytes[at + 2] ?? 0) << 8) | (bytes[at + 3] ?? 0);
    const end = at + 2 + length;
    if (length < 2 || end > bytes.length) return null;
    const segment = bytes.subarray(at, end);
    if (isFrame(marker)) {
      if (length < 8 || sides !== null) return null;
      sides = { height: two(segment, 5), width: two(segment, 7) };
      if (sides.width === 0 || sides.height === 0) return null;
    }
    if (keeps(marker, segment)) kept.push(segment);
    at = end;
    if (marker === SOS) {
      scans += 1;
      const next = endOfScan(bytes, at);
      if (next === null) return null;
      kept.push(bytes.subarray(at, next));
      at = next;
    }
  }
}

const two = (bytes: Uint8Array, at: number): number => ((bytes[at] ?? 0) << 8) | (bytes[at + 1] ?? 0);

function keeps(marker: number, segment: Uint8Array): boolean {
  if (marker === COMMENT) return false;
  if (!isApplication(marker)) return true;
  const name = String.fromCharCode(...segment.subarray(4, 9));
  // 16 bytes of JFIF leave no room for a thumbnail; twelve of Adobe's hold flags only.
  if (marker === 0xe0) return name === 'JFIF\0' && segment.length === 18;
  return marker === 0xee && name === 'Adobe' && segment.length === 16;
}

/** Where the entropy-coded data that begin here end: at the first marker that is neither stuffing nor a restart. */
function endOfScan(bytes: Uint8Array, from: number): number | null {
  for (let at = from; at < bytes.length - 1; at++) {
    if (bytes[at] !== 0xff) continue;
    const next = bytes[at + 1] ?? 0;
    if (next !== 0 && next !== 0xff && !isRestart(next)) return at;
  }
  return null;
}
