const boundary = '[\\p{L}\\p{N}]';

/**
 * Does a title that assessors see name one of the arms? Whole words, without regard to case;
 * a name of one character counts only when written exactly so.
 */
export function revealsArmName(title: string, armNames: readonly string[]): boolean {
  return armNames.some((name) => {
    const escaped = name.trim().replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
    if (escaped === '') return false;
    const flags = [...name.trim()].length === 1 ? 'u' : 'iu';
    return new RegExp(`(?<!${boundary})${escaped}(?!${boundary})`, flags).test(title);
  });
}
