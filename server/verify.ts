import { readFileSync } from 'node:fs';
import { verifyAnnouncement, verifyPackage, type Check } from '@oddglass/shared/publication/verify.ts';

// `npm run verify -- package.zip [digest]`: every check in a line; ends with 1 when something differs, 2 when there is
// nothing to check. `npm run verify -- sealed-plan.json [package.zip]` does the same for an announced plan.

// The process ends by itself: an exit in the middle would cut off what a pipe has not taken yet.
// Beside a package its digest, beside an announced plan a package.
const [path, digest] = process.argv.slice(2);
if (path === undefined) {
  console.error('Say which data package: npm run verify -- package.zip [digest from the page]');
  process.exitCode = 2;
} else {
  const file = read(path);
  process.exitCode = file === null ? 2 : told(file);
}

function told(file: Uint8Array): number {
  if (file[0] !== '{'.charCodeAt(0)) return report(verifyPackage(file, digest ?? null), digest === undefined);
  const beside = digest === undefined ? null : read(digest);
  if (digest !== undefined && beside === null) return 2;
  return report(verifyAnnouncement(new TextDecoder().decode(file), beside), false);
}

function read(file: string): Uint8Array | null {
  try {
    return readFileSync(file);
  } catch (reason) {
    console.error(`Cannot read ${file}: ${reason instanceof Error ? reason.message : String(reason)}`);
    return null;
  }
}

function report(checks: Check[], digestMissing: boolean): number {
  const wrong = checks.filter(({ ok }) => !ok);
  for (const check of checks) console.log(lineOf(check));
  const outcome = wrong.length === 0 ? 'Everything agrees' : `${wrong.length} differ`;
  console.log(`\n${checks.length} checks. ${outcome}.`);
  if (wrong.length > 0) console.log(['What differs:', ...wrong.map(lineOf)].join('\n'));
  if (digestMissing && wrong.length === 0) {
    console.log(
      'Texts are covered by the sums alone: pass the digest that the page shows to hold them to it too.',
    );
  }
  return wrong.length === 0 ? 0 : 1;
}

function lineOf({ name, ok, found, expected }: Check): string {
  if (ok) return `ok      ${name}: ${shortened(found)}`;
  return `DIFFERS ${name}: found ${shortened(found)}, expected ${shortened(expected)}`;
}

function shortened(text: string): string {
  return text.length <= 160 ? text : `${text.slice(0, 157)}...`;
}
