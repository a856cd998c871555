/** What a field of the pad holds: pH and SG place their mark by themselves, others as it is typed. */
export type PadKind = 'ph' | 'sg' | 'plain';
export type PadKey = '0' | '1' | '2' | '3' | '4' | '5' | '6' | '7' | '8' | '9' | 'mark' | 'delete';

const MOST = 8;
const marked = (text: string): boolean => /[.,]/.test(text);

/**
 * What a field holds after a key. A pH has one digit before its mark: 4 2 is 4.2. An SG begins with 1, or with 0 where the
 * first digit is a 9: 0 1 2 and 1 0 1 2 are 1.012, 9 9 8 is 0.998. What stands in the field is always what is meant.
 */
export function pressed(text: string, key: PadKey, kind: PadKind, mark: '.' | ','): string {
  if (key === 'delete') return text.slice(0, -1).replace(/[.,]$/, '');
  if (key === 'mark') {
    if (kind === 'sg' && /^1[.,]0$/.test(text)) return `0${mark}`;
    if (marked(text)) return text;
    return text === '' ? `0${mark}` : text + mark;
  }
  if (text.length >= MOST) return text;
  if (kind === 'ph' && text.length === 1) return text + mark + key;
  if (kind === 'sg') {
    if (text === '') return key === '1' ? '1' : key === '9' ? `0${mark}9` : `1${mark}${key}`;
    if (text === '1') return `1${mark}${key}`;
  }
  return text + key;
}
