import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { createGunzip } from 'node:zlib';
import { z } from 'zod';

// A backup is text, packed by gzip. First a line of JSON, the head; then each table: a line of JSON with its name, its rows as
// PostgreSQL writes them by COPY (text format), `\.`, and a line with how many they were; last the SHA-256 of all bytes before.
// Tables stand in an order in which none refers to a later one.

export const FORMAT = 1;
/** The line that ends the rows of a table. No row can be it: COPY writes a backslash twice. */
export const END_OF_ROWS = '\\.';

const table = z.object({ name: z.string(), columns: z.array(z.string()).min(1) });
export type BackupTable = z.infer<typeof table>;

export const backupHead = z.object({
  oddglassBackup: z.literal(FORMAT),
  /** When the state was taken. */
  at: z.iso.datetime(),
  /** The migrations that the database had, by their time, the oldest first. */
  migrations: z.array(z.number().int()).min(1),
  tables: z.array(table),
  /** Counters of columns that count by themselves. */
  counters: z.array(
    z.object({ table: z.string(), column: z.string(), last: z.string().regex(/^\d+$/), used: z.boolean() }),
  ),
});
export type BackupHead = z.infer<typeof backupHead>;

/** The file is no backup, or not what was once written. */
export class BackupDamagedError extends Error {}

/** What a backup holds, table after table. Rows have to be read, or passed over, before the next table is asked for. */
export interface OpenBackup {
  head: BackupHead;
  tables: AsyncGenerator<{ table: BackupTable; rows: AsyncGenerator<Buffer> }>;
}

/**
 * Opens a backup and reads it as it goes. At its end everything that was read is held against the digest.
 * @throws BackupDamagedError from here, or from reading on, when anything is not as it was written.
 */
export async function openBackup(path: string): Promise<OpenBackup> {
  const lines = linesOf(path);
  const first = await nextLine(lines);
  const parsed = backupHead.safeParse(jsonOf(first));
  if (!parsed.success) {
    const other: unknown = z.object({ oddglassBackup: z.number() }).safeParse(jsonOf(first))
      .data?.oddglassBackup;
    throw new BackupDamagedError(
      other === undefined
        ? 'it is no backup of Oddglass'
        : `its form (${String(other)}) is not known to this version`,
    );
  }
  return { head: parsed.data, tables: tablesOf(lines, parsed.data) };
}

/** Reads a backup to its end without keeping anything: how many rows it holds. Errors: as openBackup. */
export async function checkBackup(path: string): Promise<{ head: BackupHead; rows: number }> {
  const { head, tables } = await openBackup(path);
  let rows = 0;
  for await (const table of tables) for await (const _row of table.rows) rows += 1;
  return { head, rows };
}

interface Line {
  text: Buffer;
  /** Digest of all that stands before this line. */
  before: () => string;
}

async function* tablesOf(lines: AsyncGenerator<Line>, head: BackupHead): OpenBackup['tables'] {
  for (const table of head.tables) {
    const named = z.object({ table: z.literal(table.name) }).safeParse(jsonOf(await nextLine(lines)));
    if (!named.success) throw new BackupDamagedError(`the table ${table.name} is missing`);
    let counted = 0;
    let ended = false;
    const rows = (async function* () {
      for (;;) {
        const { text } = await nextLine(lines);
        if (text.toString('latin1') === END_OF_ROWS) break;
        counted += 1;
        yield text;
      }
      const told = z.object({ rows: z.number() }).safeParse(jsonOf(await nextLine(lines)));
      if (told.data?.rows !== counted) throw new BackupDamagedError(`rows of ${table.name} are missing`);
      ended = true;
    })();
    yield { table, rows };
    if (!ended) throw new Error('rows of a backup were not read to their end');
  }
  const last = await nextLine(lines);
  const told = z.object({ sha256: z.string() }).safeParse(jsonOf(last));
  if (told.data?.sha256 !== last.before()) throw new BackupDamagedError('its digest is another');
  if (!(await lines.next()).done) throw new BackupDamagedError('something follows its end');
}

async function nextLine(lines: AsyncGenerator<Line>): Promise<Line> {
  const { value, done } = await lines.next();
  if (done) throw new BackupDamagedError('its end is missing');
  return value;
}

function jsonOf({ text }: Line): unknown {
  try {
    return JSON.parse(text.toString('utf8'));
  } catch {
    return null;
  }
}

async function* linesOf(path: string): AsyncGenerator<Line, undefined> {
  const file = createReadStream(path);
  const unpacked = createGunzip();
  // Not by pipe alone: what the file says when it cannot be read has to be heard too.
  file.on('error', (error) => unpacked.destroy(error));
  const hash = createHash('sha256');
  let rest: Buffer = Buffer.alloc(0);
  try {
    for await (const chunk of file.pipe(unpacked)) {
      let open = rest.length === 0 ? (chunk as Buffer) : Buffer.concat([rest, chunk as Buffer]);
      for (let end = open.indexOf(10); end >= 0; end = open.indexOf(10)) {
        yield { text: open.subarray(0, end), before: () => hash.copy().digest('hex') };
        hash.update(open.subarray(0, end + 1));
        open = open.subarray(end + 1);
      }
      rest = open;
    }
  } catch (error) {
    const { code = '' } = error as NodeJS.ErrnoException;
    // What gzip finds of bent bytes, or of an end too early.
    if (code.startsWith('Z_')) throw new BackupDamagedError('it cannot be unpacked');
    throw error;
  } finally {
    file.destroy();
  }
  if (rest.length > 0) throw new BackupDamagedError('its last line is cut off');
  return undefined;
}
