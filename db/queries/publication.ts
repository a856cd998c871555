import { and, asc, count, desc, eq, isNull, sql } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { publication, publicationVersion } from '../schema/publication.ts';

export type Publication = typeof publication.$inferSelect;
export type PublicationVersion = typeof publicationVersion.$inferSelect;
/** A version without its files, which are large and fetched by themselves. */
export type VersionFacts = Omit<PublicationVersion, 'result' | 'citation' | 'package'>;

const factColumns = {
  publicationId: publicationVersion.publicationId,
  version: publicationVersion.version,
  publishedAt: publicationVersion.publishedAt,
  publishedOn: publicationVersion.publishedOn,
  etag: publicationVersion.etag,
  title: publicationVersion.title,
  panel: publicationVersion.panel,
  headline: publicationVersion.headline,
  licence: publicationVersion.licence,
  demo: publicationVersion.demo,
  choices: publicationVersion.choices,
  withdrawn: publicationVersion.withdrawn,
};

const editionColumn = sql<string>`concat_ws(' ', ${publication.id}, ${publication.listed}, ${publication.withdrawnAt},
  string_agg(${publicationVersion.version} || ':' || ${publicationVersion.etag}, ' ' order by ${publicationVersion.version}))`;

/** False when the address is taken: the unique constraint settles every race. */
export async function insertPublication(db: Db, row: Publication): Promise<boolean> {
  const added = await db
    .insert(publication)
    .values(row)
    .onConflictDoNothing({ target: publication.address })
    .returning({ id: publication.id });
  return added.length > 0;
}

export async function insertVersion(db: Db, row: PublicationVersion): Promise<void> {
  await db.insert(publicationVersion).values(row);
}

export async function findPublication(db: Db, id: string): Promise<Publication | undefined> {
  const [row] = await db.select().from(publication).where(eq(publication.id, id));
  return row;
}

export async function findPublicationAt(db: Db, address: string): Promise<Publication | undefined> {
  const [row] = await db.select().from(publication).where(eq(publication.address, address));
  return row;
}

/** Versions of a publication, oldest first. */
export async function listVersions(db: Db, publicationId: string): Promise<VersionFacts[]> {
  return db
    .select(factColumns)
    .from(publicationVersion)
    .where(eq(publicationVersion.publicationId, publicationId))
    .orderBy(asc(publicationVersion.version));
}

const isVersion = (publicationId: string, version: number) =>
  and(eq(publicationVersion.publicationId, publicationId), eq(publicationVersion.version, version));

/** Text of result.json of a version. */
export async function readResultText(
  db: Db,
  publicationId: string,
  version: number,
): Promise<string | undefined> {
  const [row] = await db
    .select({ result: publicationVersion.result })
    .from(publicationVersion)
    .where(isVersion(publicationId, version));
  return row?.result;
}

export async function readCitation(
  db: Db,
  publicationId: string,
  version: number,
): Promise<string | undefined> {
  const [row] = await db
    .select({ citation: publicationVersion.citation })
    .from(publicationVersion)
    .where(isVersion(publicationId, version));
  return row?.citation ?? undefined;
}

export async function readPackage(
  db: Db,
  publicationId: string,
  version: number,
): Promise<Uint8Array | undefined> {
  const [row] = await db
    .select({ bytes: publicationVersion.package })
    .from(publicationVersion)
    .where(isVersion(publicationId, version));
  return row?.bytes ?? undefined;
}

/** Publications of a trial, newest first. */
export async function listPublicationsOfTrial(db: Db, trialId: string): Promise<Publication[]> {
  return db
    .select()
    .from(publication)
    .where(eq(publication.trialId, trialId))
    .orderBy(desc(publication.createdAt), publication.id);
}

/** Every version that was ever published of a trial, withdrawn ones too: somebody may have kept them. */
export async function listEverPublished(
  db: Db,
  trialId: string,
): Promise<Pick<PublicationVersion, 'publicationId' | 'version' | 'result' | 'withdrawn' | 'choices'>[]> {
  return db
    .select({
      publicationId: publicationVersion.publicationId,
      version: publicationVersion.version,
      result: publicationVersion.result,
      withdrawn: publicationVersion.withdrawn,
      choices: publicationVersion.choices,
    })
    .from(publicationVersion)
    .innerJoin(publication, eq(publication.id, publicationVersion.publicationId))
    .where(eq(publication.trialId, trialId))
    .orderBy(asc(publicationVersion.publishedAt));
}

/** How many versions were ever published of a trial. */
export async function countEverPublished(db: Db, trialId: string): Promise<number> {
  const [row] = await db
    .select({ versions: count() })
    .from(publicationVersion)
    .innerJoin(publication, eq(publication.id, publicationVersion.publicationId))
    .where(eq(publication.trialId, trialId));
  return row?.versions ?? 0;
}

/** Listed publications of a panel with their newest version, newest first. */
export async function listListed(
  db: Db,
  panelId: string,
): Promise<{ publication: Publication; version: VersionFacts }[]> {
  const newest = db
    .selectDistinctOn([publicationVersion.publicationId], factColumns)
    .from(publicationVersion)
    .orderBy(publicationVersion.publicationId, desc(publicationVersion.version))
    .as('newest');
  const rows = await db
    .select()
    .from(publication)
    .innerJoin(newest, eq(newest.publicationId, publication.id))
    .where(and(eq(publication.panelId, panelId), eq(publication.listed, true)))
    .orderBy(desc(newest.publishedAt), publication.id);
  return rows.map(({ publication: row, newest: version }) => ({ publication: row, version }));
}

/** Addresses at which a session of the trial can be read. */
export async function listAddressesOfSession(db: Db, trialId: string, sessionId: string): Promise<string[]> {
  const rows = await db
    .selectDistinct({ address: publication.address })
    .from(publication)
    .innerJoin(publicationVersion, eq(publicationVersion.publicationId, publication.id))
    .where(
      and(
        eq(publication.trialId, trialId),
        isNull(publication.withdrawnAt),
        sql`${publicationVersion.choices} -> 'sessionIds' ? ${sessionId}`,
      ),
    )
    .orderBy(asc(publication.address));
  return rows.map(({ address }) => address);
}

export async function markWithdrawn(db: Db, id: string, now: Date): Promise<void> {
  await db
    .update(publication)
    .set({ withdrawnAt: now })
    .where(and(eq(publication.id, id), isNull(publication.withdrawnAt)));
}

/** Takes the files of a version away; what is left of its result is handed in. */
export async function emptyVersion(
  db: Db,
  { publicationId, version }: Pick<PublicationVersion, 'publicationId' | 'version'>,
  left: Pick<PublicationVersion, 'result' | 'choices'>,
): Promise<void> {
  await db
    .update(publicationVersion)
    .set({ ...left, citation: null, package: null })
    .where(isVersion(publicationId, version));
}

/** Changes with everything that readers of an address get: versions, listing, withdrawal. Null where nothing is. */
export async function editionOfAddress(db: Db, address: string): Promise<string | null> {
  const [row] = await db
    .select({ edition: editionColumn })
    .from(publication)
    .leftJoin(publicationVersion, eq(publicationVersion.publicationId, publication.id))
    .where(eq(publication.address, address))
    .groupBy(publication.id);
  return row?.edition ?? null;
}

/** The same of all that a panel lists; null where it lists nothing. */
export async function editionOfList(db: Db, panelId: string): Promise<string | null> {
  const rows = await db
    .select({ edition: editionColumn })
    .from(publication)
    .leftJoin(publicationVersion, eq(publicationVersion.publicationId, publication.id))
    .where(and(sql`${publication.panelId}::text = ${panelId}`, eq(publication.listed, true)))
    .groupBy(publication.id)
    .orderBy(asc(publication.id));
  return rows.length === 0 ? null : rows.map(({ edition }) => edition).join('; ');
}
