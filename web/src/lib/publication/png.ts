/**
 * A PNG of 8 bits per channel, without transparency. Source: PNG specification, third edition (W3C 2025), sections 5 and 11.
 * @param pixels three bytes each (red, green, blue), row by row from the top, width * height * 3 in all.
 * @param deflate zlib stream of bytes; @param crc CRC-32 of bytes.
 * Errors: RangeError when pixels and size do not fit.
 */
export function pngOf(
  pixels: Uint8Array,
  { width, height }: { width: number; height: number },
  { deflate, crc }: { deflate: (bytes: Uint8Array) => Uint8Array; crc: (bytes: Uint8Array) => number },
): Uint8Array<ArrayBuffer> {
  if (pixels.length !== width * height * 3) throw new RangeError('Three bytes for each pixel.');
  const header = new Uint8Array(13);
  const numbers = new DataView(header.buffer);
  numbers.setUint32(0, width);
  numbers.setUint32(4, height);
  // 8 bits, truecolour, and the only compression, filters and order that are needed.
  header.set([8, 2, 0, 0, 0], 8);
  // Filter 'up' (each byte less the one above it): flat areas become zeros.
  const lines = new Uint8Array((width * 3 + 1) * height);
  for (let row = 0; row < height; row += 1) {
    const at = row * (width * 3 + 1);
    lines[at] = 2;
    for (let byte = 0; byte < width * 3; byte += 1) {
      const above = row === 0 ? 0 : (pixels[(row - 1) * width * 3 + byte] ?? 0);
      lines[at + 1 + byte] = (pixels[row * width * 3 + byte] ?? 0) - above;
    }
  }
  const chunks = [
    Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a),
    chunk('IHDR', header, crc),
    chunk('IDAT', deflate(lines), crc),
    chunk('IEND', new Uint8Array(0), crc),
  ];
  const file = new Uint8Array(chunks.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const bytes of chunks) {
    file.set(bytes, at);
    at += bytes.length;
  }
  return file;
}

function chunk(kind: string, content: Uint8Array, crc: (bytes: Uint8Array) => number): Uint8Array {
  const bytes = new Uint8Array(content.length + 12);
  const numbers = new DataView(bytes.buffer);
  numbers.setUint32(0, content.length);
  bytes.set(new TextEncoder().encode(kind), 4);
  bytes.set(content, 8);
  numbers.setUint32(content.length + 8, crc(bytes.subarray(4, content.length + 8)));
  return bytes;
}
