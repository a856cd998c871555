// `npm run export -- ADDRESS FOLDER`: a publication as a folder of files that needs no server; with the id of a panel
// instead of an address, all that the panel lists. Run on the machine of the server, beside it or while it is stopped, with
// the same settings.
import { mkdir, readdir, writeFile } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import { openDb } from '@oddglass/db/client.ts';
import { openPool } from '@oddglass/db/pool.ts';
import { id as panelId } from '@oddglass/shared/contracts/common.ts';
import { address } from '@oddglass/shared/contracts/publishing.ts';
import type { PackageFile } from '@oddglass/shared/publication/package.ts';
import { publicOriginOf } from './access/origin.ts';
import { buildApp } from './app.ts';
import { buildWeb } from './boot/build-web.ts';
import { type Config, readConfig } from './boot/config.ts';
import { loadPages } from './boot/open-server.ts';
import { reachDatabase } from './boot/reach-database.ts';
import { reportFailedStart } from './boot/refuse.ts';
import { StartRefusal } from './boot/start-refusal.ts';
import { Undo } from './boot/undo.ts';
import { panelFolder, publicationFolder } from './features/publication/folder.service.ts';
import { Problem } from './refusal/problem.ts';

const [wanted = '', to = ''] = process.argv.slice(2);
const undo = new Undo();
let config: Config | undefined;
const say = (line: string): void => console.log(line);
// The process ends by itself once everything is closed; a database started for this must not be cut off.
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => void undo.run());
try {
  if (wanted === '' || to === '') {
    console.error(
      'Say what and where to: npm run export -- ADDRESS FOLDER, or npm run export -- PANEL-ID FOLDER',
    );
    process.exitCode = 2;
  } else {
    config = readConfig(process.env);
    const folder = resolve(to);
    await refuseFull(folder);
    const files = await readFolder(config);
    for (const { path, bytes } of files) {
      await mkdir(dirname(join(folder, path)), { recursive: true });
      await writeFile(join(folder, path), bytes);
    }
    say(`${files.length} files in ${folder}: open index.html there.`);
  }
} catch (error) {
  process.exitCode = 1;
  reportFailedStart(error, config);
} finally {
  await undo.run();
}

/** What lies there already stays as it is: files of an older export would be taken for ones of this. */
async function refuseFull(folder: string): Promise<void> {
  const inside = await readdir(folder).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return [];
    throw new StartRefusal(`${folder} cannot be written to as a folder (${error.code ?? error.message}).`);
  });
  if (inside.length > 0)
    throw new StartRefusal(`${folder} is not empty: name a new folder, or empty it first.`);
}

async function readFolder(settings: Config): Promise<PackageFile[]> {
  const ofPanel = panelId.safeParse(wanted).success;
  if (!ofPanel && !address.safeParse(wanted).success)
    throw new StartRefusal(
      `"${wanted}" is neither an address of a publication (what follows /p/) nor the id of a panel (what follows /p/list/).`,
    );
  const { url } = await reachDatabase(settings, say, undo);
  if (settings.buildPages === 'when-changed') await buildWeb(say, undo);
  const pool = openPool(url);
  undo.add(() => pool.end());
  const app = await buildApp({
    pool,
    databaseUrl: url,
    webHandler: await loadPages(),
    publicUrl: settings.publicUrl,
    logger: { level: settings.logLevel },
  });
  undo.add(() => app.close());
  const source = { app, db: openDb(pool), publicOrigin: publicOriginOf(settings.publicUrl) };
  try {
    return await (ofPanel ? panelFolder(source, wanted) : publicationFolder(source, wanted));
  } catch (error) {
    if (error instanceof Problem && error.kind === 'not-found')
      throw new StartRefusal(
        ofPanel
          ? `No panel with the id ${wanted} lists a publication here.`
          : `Nothing is published at ${wanted} here.`,
      );
    if (error instanceof Problem && error.kind === 'publication-withdrawn')
      throw new StartRefusal(`The publication at ${wanted} was withdrawn: nothing of it is exported.`);
    throw error;
  }
}
