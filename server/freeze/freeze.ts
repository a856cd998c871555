import { createHash } from 'node:crypto';
import type { SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import {
  publication as publicationSchema,
  type Publication,
} from '@oddglass/shared/contracts/publication.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { publicationHeadline } from '@oddglass/shared/publication/card.ts';
import { packageFiles, zipPackage, type PackageFile } from '@oddglass/shared/publication/package.ts';
import { verifyPackage } from '@oddglass/shared/publication/verify.ts';
import { compose, type Composing } from './compose.ts';

/** A version as it is stored: what lists tell of it, and its files. */
export interface Frozen extends Pick<
  Publication,
  'title' | 'panel' | 'licence' | 'demo' | 'caveats' | 'arms'
> {
  headline: string;
  /** Text of result.json, and its SHA-256 in hex. */
  result: string;
  etag: string;
  citation: string;
  /** The data package. Empty where something differs: it is not to be kept then. */
  zip: Uint8Array;
  /** What a reader's verifier would object to, as name, found and expected. */
  differs: { name: string; found: string; expected: string }[];
}

/**
 * Puts a version together and makes its files.
 * @param pageAt where its page is read; null when nobody outside of the house could.
 * @throws PublicationRefused when it may not be published.
 */
export function freeze(
  composing: Composing,
  pageAt: string | null,
  analyse: (input: SessionInput) => ResultDocument,
): Frozen {
  const publication = compose(composing, analyse);
  const url = pageAt === null ? null : `${pageAt}?version=${composing.version}`;
  const files = packageFiles(publication, url);
  const result = textOf(files, 'result.json');
  const zip = zipPackage(files);
  const { title, panel, licence, demo, caveats, arms } = publication;
  return {
    ...{ title, panel, licence, demo, caveats, arms },
    headline: publicationHeadline(publication),
    result,
    etag: createHash('sha256').update(result).digest('hex'),
    citation: textOf(files, 'CITATION.cff'),
    zip,
    differs: verifyPackage(zip)
      .filter(({ ok }) => !ok)
      .map(({ name, found, expected }) => ({ name, found, expected })),
  };
}

/**
 * What readers would get, as the text of a JSON value of the contract: large, and looked at again and again while the host
 * decides, so that it is written where it is made.
 * @throws PublicationRefused when it may not be published.
 */
export function previewText(composing: Composing, analyse: (input: SessionInput) => ResultDocument): string {
  return JSON.stringify(publicationSchema.parse(compose(composing, analyse)));
}

function textOf(files: readonly PackageFile[], path: string): string {
  const file = files.find((one) => one.path === path);
  if (!file) throw new Error(`a data package has a ${path}`);
  return new TextDecoder().decode(file.bytes);
}
