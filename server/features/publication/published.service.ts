import { createHash } from 'node:crypto';
import {
  findPublicationAt,
  listListed,
  listVersions,
  readCitation,
  readPackage,
  readResultText,
  type Publication as PublicationRow,
  type VersionFacts,
} from '@oddglass/db/queries/publication.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { PublicList, PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import { packageDigestOf } from '@oddglass/shared/publication/package.ts';
import { problem } from '../../refusal/problem.ts';
import { momentOf } from './feed.ts';
import { versionOf } from './record.ts';

// What readers get. Only the tables of publications are read, never those of a session or trial.

interface Found {
  row: PublicationRow;
  version: VersionFacts;
  /** Up to the version asked for; all of them when none was. */
  versions: VersionFacts[];
}

async function find(db: Db, address: string, wanted: number | undefined): Promise<Found> {
  const row = await findPublicationAt(db, address);
  if (!row) throw problem('not-found');
  const all = await listVersions(db, row.id);
  const versions = all.filter(({ version }) => wanted === undefined || version <= wanted);
  const version = versions.at(-1);
  if (!version || (wanted !== undefined && version.version !== wanted)) throw problem('not-found');
  return { row, version, versions };
}

/** A publication as readers get it, with the text of its JSON instead of what that says: it is large. */
export interface PublishedText extends Omit<PublishedView, 'publication'> {
  publication: string | null;
  version: VersionFacts;
}

/** A publication as readers get it, or its tombstone. */
export async function readPublished(
  db: Db,
  address: string,
  wanted: number | undefined,
  publicOrigin: string | null,
): Promise<PublishedText> {
  const { row, version, versions } = await find(db, address, wanted);
  const withdrawn = row.withdrawnAt !== null;
  const [text, zip] = withdrawn
    ? []
    : await Promise.all([
        readResultText(db, row.id, version.version),
        readPackage(db, row.id, version.version),
      ]);
  return {
    state: withdrawn ? 'withdrawn' : 'published',
    address: row.address,
    panelId: row.panelId,
    listed: row.listed,
    // The sum of what was taken back would tell whoever guesses at it that the guess is true.
    versions: versions.map((one) => (withdrawn ? tombstoneOf(one) : versionOf(one))),
    withdrawnOn: row.withdrawnAt?.toISOString().slice(0, 10) ?? null,
    publication: text ?? null,
    digest: zip ? packageDigestOf(zip) : null,
    publicOrigin,
    zip: zip ? { bytes: zip.length, sha256: createHash('sha256').update(zip).digest('hex') } : null,
    version,
  };
}

const READERS = { 'package.zip': readPackage, 'result.json': readResultText, 'CITATION.cff': readCitation };
export type FrozenFile = keyof typeof READERS;

const tombstoneOf = ({ version, publishedOn }: VersionFacts) => ({ version, publishedOn });

/** A file of a version, byte for byte as it was published; without content once it was withdrawn. */
export async function readFrozen(
  db: Db,
  address: string,
  wanted: number | undefined,
  name: FrozenFile,
): Promise<{ content: string | Uint8Array | undefined; version: VersionFacts; listed: boolean }> {
  const { row, version } = await find(db, address, wanted);
  const content = row.withdrawnAt === null ? await READERS[name](db, row.id, version.version) : undefined;
  return { content, version, listed: row.listed };
}

/** What a panel lists. A panel that lists nothing is as one that does not exist. */
export async function readList(db: Db, panelId: string): Promise<PublicList & { updated: string }> {
  const listed = await listListed(db, panelId);
  const [newest] = listed;
  if (!newest) throw problem('not-found');
  return {
    panelId,
    panel: newest.version.panel,
    publications: listed.map(({ publication, version }) => {
      const withdrawn = publication.withdrawnAt !== null;
      return {
        address: publication.address,
        state: withdrawn ? 'withdrawn' : 'published',
        title: withdrawn ? null : version.title,
        headline: withdrawn ? null : version.headline,
        demo: version.demo,
        licence: withdrawn ? null : version.licence,
        version: version.version,
        publishedOn: version.publishedOn,
      };
    }),
    updated: updatedOf(listed),
  };
}

/**
 * When a list changed last: the day, and in its seconds what happened on that day, so that each change is later than the
 * one before and no time of day is told.
 */
function updatedOf(listed: Awaited<ReturnType<typeof listListed>>): string {
  const changes = listed.map(({ publication: { withdrawnAt }, version }) => ({
    day: withdrawnAt?.toISOString().slice(0, 10) ?? version.publishedOn,
    count: version.version + (withdrawnAt === null ? 0 : 1),
  }));
  const newest = changes.reduce((last, { day }) => (day > last ? day : last), '');
  return momentOf(
    newest,
    changes.filter(({ day }) => day === newest).reduce((sum, { count }) => sum + count, 0),
  );
}
