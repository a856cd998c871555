/** Slips a text of this many letters may hold and still be the word meant. Our own choice, no source. */
export function slipsAllowed(letters: number): number {
  if (letters < 4) return 0;
  return letters < 9 ? 1 : 2;
}

/** Which letters a text has, a to z, as bits; all others share one bit. */
export function letterBits(text: string): number {
  let bits = 0;
  for (let at = 0; at < text.length; at += 1) {
    const letter = text.charCodeAt(at) - 97;
    bits |= 1 << (letter >= 0 && letter < 26 ? letter : 26);
  }
  return bits;
}

/** Least number of slips by letters alone: each kind of letter that the target lacks needs a slip of its own. */
export function leastSlips(typedBits: number, targetBits: number): number {
  let missing = typedBits & ~targetBits;
  let count = 0;
  while (missing !== 0) {
    missing &= missing - 1;
    count += 1;
  }
  return count;
}

/**
 * How many slips lead from `typed` to `target`: a letter too many, too few, another one, or two neighbours swapped
 * (optimal string alignment). `whole` counts to the end of the target, `begun` to that beginning of it that fits
 * best, for words still being typed. Both are Infinity as soon as more than `most` are sure. Lengths are counted
 * in UTF-16 units.
 * Ref: Damerau 1964, Communications of the ACM 7:171 (named from memory).
 * Example: 'cardbord' to 'cardboard' is 1; 'cardbo' has begun it with 0
 */
export function slips(typed: string, target: string, most = Infinity): { whole: number; begun: number } {
  const columns = target.length + 1;
  let before = new Float64Array(columns);
  let last = Float64Array.from({ length: columns }, (_, column) => column);
  let line = new Float64Array(columns);
  let leastBefore = 0;
  for (let row = 1; row <= typed.length; row += 1) {
    const letter = typed.charCodeAt(row - 1);
    line[0] = row;
    let leastHere = row;
    for (let column = 1; column < columns; column += 1) {
      const isSame = letter === target.charCodeAt(column - 1);
      let least = at(last, column - 1) + (isSame ? 0 : 1);
      least = Math.min(least, at(last, column) + 1, at(line, column - 1) + 1);
      const isSwap =
        row > 1 &&
        column > 1 &&
        letter === target.charCodeAt(column - 2) &&
        typed.charCodeAt(row - 2) === target.charCodeAt(column - 1);
      if (isSwap) least = Math.min(least, at(before, column - 2) + 1);
      line[column] = least;
      if (least < leastHere) leastHere = least;
    }
    // A swap reaches back two rows, so both must be beyond what may be.
    if (leastHere > most && leastBefore > most) return { whole: Infinity, begun: Infinity };
    leastBefore = leastHere;
    [before, last, line] = [last, line, before];
  }
  return { whole: at(last, columns - 1), begun: leastBefore };
}

const at = (line: Float64Array, column: number): number => line[column] ?? Infinity;
