const PHONE = /\biPhone\b|\bAndroid\b(?=.*\bMobile\b)/;
const TABLET = /\biPad\b|\bAndroid\b/;

/**
 * What kind of thing a browser says it runs on, by which its owner knows it again; empty for what is no browser. Anything may
 * be claimed there, so that only words of ours come out.
 */
export function deviceOf(userAgent = ''): string {
  // Every browser begins so, and little else does.
  if (!userAgent.startsWith('Mozilla/')) return '';
  if (PHONE.test(userAgent)) return 'a phone';
  return TABLET.test(userAgent) ? 'a tablet' : 'a computer';
}
