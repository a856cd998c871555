import type { Db } from '@oddglass/db/client.ts';
import type { PublicList } from '@oddglass/shared/contracts/publishing.ts';
import type { PackageFile } from '@oddglass/shared/publication/package.ts';
import type { FastifyInstance } from 'fastify';
import { problem } from '../../refusal/problem.ts';
import { atomFeed, momentOf, type FeedLinks } from './feed.ts';
import { readList, readPublished } from './published.service.ts';

// A publication, or all that a panel lists, as a folder of files that needs no server: the pages that are served anyway, in
// a form whose links go to files beside them, with what those files need.

/** The app that asks itself, and the database of what is published. */
export interface FolderSource {
  app: Pick<FastifyInstance, 'inject'>;
  db: Db;
  publicOrigin: string | null;
}

const BESIDE = 'style/';
const README = 'README.txt';
// As the build writes them: relative to the page's own address.
const ASSETS = /(\b(?:href|src)=")(?:\.\.\/)+_app\/immutable\/assets\/([\w.-]+)"/g;
const ICON = /(\bhref=")(?:\.\.\/)+mark\.svg"/g;
const IN_STYLE = /url\(["']?(?:\.\/)?([\w.-]+)["']?\)/g;

/**
 * The newest version of a publication as files; `index.html` is where to begin.
 * @throws Problem not-found, publication-withdrawn
 */
export async function publicationFolder(source: FolderSource, address: string): Promise<PackageFile[]> {
  const view = await readPublished(source.db, address, undefined, source.publicOrigin);
  if (view.publication === null) throw problem('publication-withdrawn');
  const { version, publishedOn, title, panel, demo, licence, headline } = view.version;
  const query = `?version=${version}`;
  const page = `/p/${address}`;
  const list: PublicList = {
    panelId: view.panelId,
    panel,
    publications: [
      {
        address,
        state: 'published',
        title,
        headline,
        demo,
        licence,
        version,
        publishedOn,
      },
    ],
  };
  const links = { page: 'index.html', of: () => 'index.html' };
  const pages = new Map([
    ['index.html', await textOf(source, `${page}/folder${query}`)],
    ['verify.html', await textOf(source, `${page}/folder/verify${query}`)],
  ]);
  return [
    ...(await withStyles(source, pages)),
    { path: 'package.zip', bytes: await bytesOf(source, `/api${page}/package.zip${query}`) },
    { path: 'result.json', bytes: await bytesOf(source, `/api${page}/result.json${query}`) },
    { path: 'CITATION.cff', bytes: await bytesOf(source, `/api${page}/CITATION.cff${query}`) },
    { path: 'picture.png', bytes: await bytesOf(source, `${page}/picture.png${query}`) },
    textFile('feed.xml', atomFeed(list, momentOf(publishedOn, version), links)),
    textFile(README, readme(title, 'the publication')),
  ];
}

/**
 * All that a panel lists, each publication in a folder of its own, and a page that leads to them.
 * @throws Problem not-found where nothing is listed
 */
export async function panelFolder(source: FolderSource, panelId: string): Promise<PackageFile[]> {
  const { updated, ...list } = await readList(source.db, panelId);
  const links: FeedLinks = { page: 'index.html', of: (address) => `${address}/index.html` };
  const pages = new Map([['index.html', await textOf(source, `/p/list/${panelId}/folder`)]]);
  const files = [
    ...(await withStyles(source, pages)),
    textFile('feed.xml', atomFeed(list, updated, links)),
    textFile(README, readme(`Publications of ${list.panel}`, 'the list')),
  ];
  for (const { address, state } of list.publications) {
    if (state === 'withdrawn') continue;
    const inside = await publicationFolder(source, address);
    files.push(...inside.map(({ path, bytes }) => ({ path: `${address}/${path}`, bytes })));
  }
  return files;
}

/** Pages with their links turned to files beside them, and those files: styles, what styles name, the icon. */
async function withStyles(source: FolderSource, pages: ReadonlyMap<string, string>): Promise<PackageFile[]> {
  const wanted = new Set<string>();
  const files = [...pages].map(([path, html]) => {
    for (const [, , name = ''] of html.matchAll(ASSETS)) wanted.add(name);
    return textFile(path, html.replaceAll(ASSETS, `$1${BESIDE}$2"`).replaceAll(ICON, '$1mark.svg"'));
  });
  // A set yields what is added while it is walked: what a style names is fetched after the style.
  for (const name of wanted) {
    const bytes = await bytesOf(source, `/_app/immutable/assets/${name}`);
    files.push({ path: BESIDE + name, bytes });
    if (!name.endsWith('.css')) continue;
    for (const [, named = ''] of Buffer.from(bytes).toString('utf8').matchAll(IN_STYLE)) wanted.add(named);
  }
  files.push({ path: 'mark.svg', bytes: await bytesOf(source, '/mark.svg') });
  return files;
}

async function bytesOf({ app }: FolderSource, url: string): Promise<Uint8Array> {
  const answer = await app.inject({ method: 'GET', url, headers: { 'accept-encoding': 'identity' } });
  if (answer.statusCode === 200) return new Uint8Array(answer.rawPayload);
  // Taken back while the folder was made.
  if (answer.statusCode === 410) throw problem('publication-withdrawn');
  // A server that serves no pages has none to put into a folder.
  if (answer.statusCode === 404) throw problem('not-found');
  throw new Error(`${url} was answered ${answer.statusCode} while a folder was made`);
}

const textOf = async (source: FolderSource, url: string): Promise<string> =>
  new TextDecoder().decode(await bytesOf(source, url));

const textFile = (path: string, text: string): PackageFile => ({
  path,
  bytes: new TextEncoder().encode(text),
});

const readme = (title: string, what: string): string =>
  [
    title,
    '',
    `Open index.html in a browser: it is ${what}, complete without network and without JavaScript.`,
    'The folder may be copied and put on any web server as it is: all links are relative.',
    'It stays as it was when it was made, and does not learn of a later version or of a withdrawal.',
    '',
  ].join('\n');
