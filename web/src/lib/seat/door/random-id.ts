/** A version 4 UUID. crypto.randomUUID is missing on plain http; getRandomValues is there. */
export function randomId(fill: (bytes: Uint8Array<ArrayBuffer>) => Uint8Array): string {
  const bytes = fill(new Uint8Array(16));
  const hex = [...bytes].map((byte, index) => {
    // RFC 9562: version 4 in the high half of octet 6, variant 10 in the top bits of octet 8.
    const marked = index === 6 ? (byte & 0x0f) | 0x40 : index === 8 ? (byte & 0x3f) | 0x80 : byte;
    return marked.toString(16).padStart(2, '0');
  });
  return [
    [0, 4],
    [4, 6],
    [6, 8],
    [8, 10],
    [10, 16],
  ]
    .map(([from, to]) => hex.slice(from, to).join(''))
    .join('-');
}

/** A token of 128 random bits, base64url, as the server makes them. */
export function randomToken(fill: (bytes: Uint8Array<ArrayBuffer>) => Uint8Array): string {
  const text = String.fromCharCode(...fill(new Uint8Array(16)));
  return btoa(text).replaceAll('+', '-').replaceAll('/', '_').replace(/=+$/, '');
}
