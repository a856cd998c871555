// In this order: browsers carry the names of those they descend from.
const BROWSERS: readonly [RegExp, string][] = [
  [/\bEdg(?:e|A|iOS)?\//, 'Edge'],
  [/\bOPR\//, 'Opera'],
  [/\bSamsungBrowser\//, 'Samsung Internet'],
  [/\b(?:Firefox|FxiOS)\//, 'Firefox'],
  [/\b(?:Chrome|Chromium|CriOS|HeadlessChrome)\//, 'Chrome'],
  [/\bSafari\//, 'Safari'],
];
const SYSTEMS: readonly [RegExp, string][] = [
  [/\bAndroid\b/, 'Android'],
  [/\biPad\b/, 'iPad'],
  [/\biPhone\b/, 'iPhone'],
  [/\bWindows\b/, 'Windows'],
  [/\bMac OS X\b/, 'macOS'],
  [/\bCrOS\b/, 'ChromeOS'],
  [/\bLinux\b/, 'Linux'],
];

/**
 * What a browser calls itself, in a few words by which its owner knows it again. Anything may be claimed there, so that
 * only words of ours come out.
 */
export function deviceOf(userAgent: string | undefined): string {
  const named = (list: typeof BROWSERS) => list.find(([pattern]) => pattern.test(userAgent ?? ''))?.[1];
  const browser = named(BROWSERS);
  const system = named(SYSTEMS);
  if (!browser && !system) return '';
  return [browser ?? 'a browser', system].filter(Boolean).join(' on ');
}
