import { listListed, readResultText } from '@oddglass/db/queries/publication.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import { INDEX_COLUMNS, type PublicationIndex } from '@oddglass/shared/contracts/publication-index.ts';
import { csvText } from '@oddglass/shared/export/csv.ts';
import { panelIndex, type Listed } from '@oddglass/shared/publication/panel-index.ts';
import { problem } from '../../refusal/problem.ts';

/**
 * A line for each part of what a panel lists; what was withdrawn is not in it. A panel that lists nothing is as one that
 * does not exist.
 */
export async function readIndex(db: Db, panelId: string, origin: string | null): Promise<PublicationIndex> {
  const rows = await listListed(db, panelId);
  const [newest] = rows;
  if (!newest) throw problem('not-found');
  const listed: Listed[] = [];
  for (const { publication: row, version } of rows) {
    if (row.withdrawnAt !== null) continue;
    const text = await readResultText(db, row.id, version.version);
    if (text === undefined) continue;
    const url = origin === null ? null : `${origin}/p/${row.address}?version=${version.version}`;
    listed.push({ publication: JSON.parse(text) as Publication, address: row.address, url });
  }
  return { panel: newest.version.panel, columns: [...INDEX_COLUMNS], parts: panelIndex(listed) };
}

/** The lines as CSV (RFC 4180); without any, its header alone. */
export function indexCsv({ parts }: PublicationIndex): string {
  return csvText(
    parts.map(({ alsoAt, ...line }) => ({
      ...line,
      invented: String(line.invented),
      alsoAt: alsoAt.join(' '),
    })),
    INDEX_COLUMNS.map(({ name }) => name),
  );
}
