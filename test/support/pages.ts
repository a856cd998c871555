import { readdirSync } from 'node:fs';

const repository = new URL('../../', import.meta.url).pathname;

/** Every page of web/src/routes, as a pattern. */
export function pages(): string[] {
  const root = `${repository}web/src/routes`;
  return readdirSync(root, { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('+page.svelte'))
    .map((file) => `/${file.replace(/\/?\+page\.svelte$/, '')}`.replaceAll('[', '{').replaceAll(']', '}'))
    .map((page) => page.replace('{name}', 'not-found'));
}
