import { readFileSync } from 'node:fs';

const { version } = JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8')) as {
  version: string;
};

/** What makes publications here, as their files name it. */
export const SOFTWARE = { name: 'Oddglass', version };
