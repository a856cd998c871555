// Letters for a picture that is made of dots anyway: each on a grid of five by seven, as character displays have had them for
// decades. Five columns from left to right, two hex digits each, the lowest bit on top; the eighth row holds what hangs below.
const GLYPHS: Readonly<Record<string, string>> = {
  ' ': '0000000000',
  '!': '00005f0000',
  '"': '0007000700',
  '%': '2313086462',
  '&': '3649552250',
  "'": '0005030000',
  '(': '001c224100',
  ')': '0041221c00',
  '+': '08083e0808',
  ',': '0050300000',
  '-': '0808080808',
  '.': '0060600000',
  '/': '2010080402',
  '0': '3e5149453e',
  '1': '00427f4000',
  '2': '4261514946',
  '3': '2141454b31',
  '4': '1814127f10',
  '5': '2745454539',
  '6': '3c4a494930',
  '7': '0171090503',
  '8': '3649494936',
  '9': '064949291e',
  ':': '0036360000',
  ';': '0056360000',
  '<': '0814224100',
  '=': '1414141414',
  '>': '0041221408',
  '?': '0201510906',
  A: '7e1111117e',
  B: '7f49494936',
  C: '3e41414122',
  D: '7f4141221c',
  E: '7f49494941',
  F: '7f09090901',
  G: '3e4149497a',
  H: '7f0808087f',
  I: '00417f4100',
  J: '2040413f01',
  K: '7f08142241',
  L: '7f40404040',
  M: '7f020c027f',
  N: '7f0408107f',
  O: '3e4141413e',
  P: '7f09090906',
  Q: '3e4151215e',
  R: '7f09192946',
  S: '4649494931',
  T: '01017f0101',
  U: '3f4040403f',
  V: '1f2040201f',
  W: '3f4038403f',
  X: '6314081463',
  Y: '0708700807',
  Z: '6151494543',
  a: '2054545478',
  b: '7f48444438',
  c: '3844444420',
  d: '384444487f',
  e: '3854545418',
  f: '087e090102',
  g: '18a4a4a47c',
  h: '7f08040478',
  i: '00447d4000',
  j: '4080847d00',
  k: '7f10284400',
  l: '00417f4000',
  m: '7c04180478',
  n: '7c08040478',
  o: '3844444438',
  p: 'fc24242418',
  q: '18242424fc',
  r: '7c08040408',
  s: '4854545420',
  t: '043f444020',
  u: '3c4040207c',
  v: '1c2040201c',
  w: '3c4030403c',
  x: '4428102844',
  y: '1ca0a0a07c',
  z: '4464544c44',
  '°': '0006090906',
};
const STAND_INS: Readonly<Record<string, string>> = {
  '’': "'",
  '‘': "'",
  '“': '"',
  '”': '"',
  '–': '-',
  '—': '-',
  '−': '-',
  '…': '.',
  '\u00a0': ' ',
  ß: 's',
  ø: 'o',
  Ø: 'O',
};

/** Columns of a letter with the gap behind it, and its rows with what hangs below. */
export const LETTER = { columns: 6, rows: 8 } as const;

/** Dots of a text, each at its column and row of the grid; a letter that the grid does not know stands as '?'. */
export function letterDots(text: string): { column: number; row: number }[] {
  // Marks above and below letters have no room.
  const letters = [...text.normalize('NFD').replaceAll(/\p{M}/gu, '')];
  return letters.flatMap((letter, at) => {
    const glyph = GLYPHS[STAND_INS[letter] ?? letter] ?? GLYPHS['?'] ?? '';
    return Array.from({ length: 5 }, (_, column) =>
      Number.parseInt(glyph.slice(column * 2, column * 2 + 2), 16),
    ).flatMap((bits, column) =>
      Array.from({ length: LETTER.rows }, (_, row) => row)
        .filter((row) => bits & (1 << row))
        .map((row) => ({ column: at * LETTER.columns + column, row })),
    );
  });
}
