const PHONE = /\biPhone\b|\bAndroid\b(?=.*\bMobile\b)/;
const TABLET = /\biPad\b|\bAndroid\b/;

/**
 * What kind of thing a browser says it runs on, by which its owner knows it again; empty when it says nothing. Anything may
 * be claimed there, so that only words of ours come out.
 */
export function deviceOf(userAgent = ''): string {
  if (userAgent === '') return '';
  if (PHONE.test(userAgent)) return 'a phone';
  return TABLET.test(userAgent) ? 'a tablet' : 'a computer';
}
