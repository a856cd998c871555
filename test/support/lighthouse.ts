import { freePort } from '@oddglass/server/boot/embedded-database.ts';
import lighthouse from 'lighthouse';
import { launchBrowser } from './browser.ts';

/** What is measured, each from 0 to 100. */
export const CATEGORIES = ['performance', 'accessibility', 'best-practices', 'seo'] as const;
export type Category = (typeof CATEGORIES)[number];

export interface PageReport {
  scores: Record<Category, number>;
  /** Bytes over the wire, in all and by file. */
  transferred: number;
  files: { url: string; bytes: number }[];
  /** Audits that did not pass whole, with their scores. */
  short: string[];
}

/** One page as a phone on a slow network gets it: Lighthouse's own mobile profile, in the real Chromium. */
export async function measurePage(url: string): Promise<PageReport> {
  const port = await freePort();
  const browser = await launchBrowser([`--remote-debugging-port=${port}`]);
  try {
    const run = await lighthouse(url, { port, onlyCategories: [...CATEGORIES], logLevel: 'error' });
    if (!run) throw new Error(`no report of ${url}`);
    const { categories, audits, runtimeError } = run.lhr;
    if (runtimeError) throw new Error(runtimeError.message);
    const details = audits['network-requests']?.details;
    const requests = details && 'items' in details ? (details.items as Record<string, unknown>[]) : [];
    const files = requests.map((one) => ({ url: String(one['url']), bytes: Number(one['transferSize']) }));
    return {
      scores: Object.fromEntries(
        CATEGORIES.map((name) => [name, Math.round((categories[name]?.score ?? 0) * 100)]),
      ) as PageReport['scores'],
      transferred: files.reduce((sum, { bytes }) => sum + bytes, 0),
      files,
      short: Object.values(audits)
        .filter(({ score }) => score !== null && score < 0.9)
        .map(({ id, score, displayValue = '' }) => `${id} ${score} ${displayValue}`),
    };
  } finally {
    await browser.close();
  }
}

/**
 * The middle of three runs for each category, or the first run where that is enough: a busy machine slows one run, and a slow
 * page is slow in all.
 */
export async function measuredScores(
  url: string,
  enough: number,
): Promise<{ scores: PageReport['scores']; reports: PageReport[] }> {
  const reports = [await measurePage(url)];
  if (Object.values(reports[0]?.scores ?? {}).some((score) => score < enough)) {
    reports.push(await measurePage(url), await measurePage(url));
  }
  const middle = (name: Category): number => {
    const sorted = reports.map(({ scores }) => scores[name]).sort((a, b) => a - b);
    return sorted[Math.floor(sorted.length / 2)] ?? 0;
  };
  const scores = Object.fromEntries(CATEGORIES.map((name) => [name, middle(name)])) as PageReport['scores'];
  return { scores, reports };
}
