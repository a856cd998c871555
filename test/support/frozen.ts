import { createHash } from 'node:crypto';
import { insertPublication, insertVersion } from '@oddglass/db/queries/publication.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import { packageFiles, zipPackage } from '@oddglass/shared/publication/package.ts';
import { publicationHeadline } from '@oddglass/shared/publication/card.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';

/** Lays a publication at an address as publishing would, without an evening before it: for what only reads it. */
export async function layFrozen(
  db: Db,
  trial: TrialView,
  id: string,
  address: string,
  publication: Publication,
): Promise<void> {
  const files = packageFiles(publication, null);
  const text = (path: string): string =>
    new TextDecoder().decode(files.find((file) => file.path === path)?.bytes);
  const result = text('result.json');
  const at = new Date(`${publication.publishedOn}T12:00:00Z`);
  await insertPublication(db, {
    id,
    panelId: trial.panelId,
    trialId: trial.id,
    address,
    listed: true,
    createdAt: at,
    withdrawnAt: null,
  });
  await insertVersion(db, {
    publicationId: id,
    version: publication.version,
    publishedAt: at,
    publishedOn: publication.publishedOn,
    etag: createHash('sha256').update(result).digest('hex'),
    title: publication.title,
    panel: publication.panel,
    headline: publicationHeadline(publication),
    licence: publication.licence,
    demo: publication.demo,
    choices: {
      sessionIds: [],
      licence: publication.licence,
      comments: [],
      caveatAnswers: [],
      agreeSmall: false,
      title: publication.title,
      armNames: {},
    },
    withdrawn: {},
    result,
    citation: text('CITATION.cff'),
    package: zipPackage(files),
  });
}
