import { readFileSync } from 'node:fs';
import { join } from 'node:path';

/** Licences that let anybody use, change and pass on this house without more than a notice; MPL per file, fonts by OFL. */
export const WELCOME: ReadonlySet<string> = new Set([
  '0BSD',
  'Apache-2.0',
  'BSD-2-Clause',
  'BSD-3-Clause',
  'BlueOak-1.0.0',
  'CC0-1.0',
  'ISC',
  'MIT',
  'MPL-2.0',
  'OFL-1.1',
  'Unlicense',
]);

/** What names no SPDX expression in its package.json, and what its licence file says. */
const READ_BY_HAND: Readonly<Record<string, string>> = {
  'jstat 1.9.6': 'MIT',
  'tv4 1.3.0': '(Unlicense OR MIT)',
};

/** For the mutation tools alone, which are installed apart: facts about browsers, passed on with a word of thanks. */
const APART: Readonly<Record<string, string>> = { 'caniuse-lite': 'CC-BY-4.0' };

export interface Licensed {
  name: string;
  version: string;
  licence: string;
  /** For tests only. */
  dev: boolean;
}

interface Locked {
  version?: string;
  license?: unknown;
  dev?: boolean;
  link?: boolean;
}

/** Every package of a lock file from outside, also those for other platforms, with its licence as it declares it. */
export function licencesOf(folder: string): Licensed[] {
  const { packages } = JSON.parse(readFileSync(join(folder, 'package-lock.json'), 'utf8')) as {
    packages: Record<string, Locked>;
  };
  return Object.entries(packages)
    .filter(([path, { link }]) => path.includes('node_modules/') && !link)
    .map(([path, { version = '', license, dev = false }]) => {
      const name = path.replace(/^.*node_modules\//, '');
      const declared = typeof license === 'string' ? license : READ_BY_HAND[`${name} ${version}`];
      return { name, version, licence: declared ?? 'not declared', dev };
    });
}

/** Whether an SPDX expression allows a choice of welcome licences only. */
export function isWelcome({ name, licence }: Pick<Licensed, 'name' | 'licence'>): boolean {
  if (APART[name] === licence) return true;
  const whole = /^\((.*)\)$/.exec(licence)?.[1] ?? licence;
  // Nested expressions are left to a person.
  if (/[()]/.test(whole)) return false;
  return whole.split(' OR ').some((choice) => choice.split(' AND ').every((one) => WELCOME.has(one)));
}
