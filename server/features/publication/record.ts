import {
  listEverPublished,
  listPublicationsOfTrial,
  listVersions,
  type Publication as PublicationRow,
} from '@oddglass/db/queries/publication.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { PublicationVersion, PublicationView } from '@oddglass/shared/contracts/publishing.ts';
import type { Kept } from '../../freeze/compose.ts';

/** What stands for the choice of versions of before it was asked: as somebody starts anew. */
const NOT_ASKED = { include: true, texts: [] };

/** All versions that were ever published of a trial, for what a new one may not tell beside them. */
export function readKept(db: Db, trialId: string): Promise<Kept[]> {
  return listEverPublished(db, trialId);
}

export async function readViews(db: Db, trialId: string): Promise<PublicationView[]> {
  const rows = await listPublicationsOfTrial(db, trialId);
  return Promise.all(rows.map((row) => viewOf(db, row)));
}

export async function viewOf(db: Db, row: PublicationRow): Promise<PublicationView> {
  const versions = await listVersions(db, row.id);
  const newest = versions.at(-1);
  const withdrawn = row.withdrawnAt !== null;
  return {
    id: row.id,
    address: row.address,
    state: withdrawn ? 'withdrawn' : 'published',
    versions: versions.map(versionOf),
    trialId: row.trialId,
    title: newest?.title ?? '',
    listed: row.listed,
    createdAt: row.createdAt.toISOString(),
    withdrawnAt: row.withdrawnAt?.toISOString() ?? null,
    choices: withdrawn || !newest ? null : { ...newest.choices, record: newest.choices.record ?? NOT_ASKED },
  };
}

export const versionOf = ({ version, publishedOn, etag }: PublicationVersion): PublicationVersion => ({
  version,
  publishedOn,
  etag,
});
