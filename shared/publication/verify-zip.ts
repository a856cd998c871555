import { unzipSync } from 'fflate';
import type { Check } from './verify-format.ts';

// Which files of a ZIP are the package (verify.ts). Whoever unpacks a package and packs it again may put it in a folder, and
// their system leaves files of its own there: neither changes what the package says.

export type Bytes = Record<string, Uint8Array>;
/** A small file that unpacks without end is refused. */
const MAX_BYTES = 256 * 1024 * 1024;
/** What systems leave in folders. */
const LITTER = /(^|\/)(__MACOSX\/|\.DS_Store$|\._|Thumbs\.db$|desktop\.ini$|\.Spotlight|\.Trash)/i;

export interface Unpacked {
  /** The files of the package by their names, without the folder they lay in. */
  files: Bytes;
  /** Says what was passed over; none where the ZIP holds the package alone. */
  passed: Check[];
}

/** @throws where it is no ZIP, too large, or holds no SHA256SUMS beside a result.json. */
export function unpack(zip: Uint8Array): Unpacked {
  let left = MAX_BYTES;
  const all = unzipSync(zip, {
    filter: ({ originalSize }) => {
      left -= originalSize;
      if (left < 0) throw new Error('it unpacks to more than 256 MiB');
      return true;
    },
  });
  const paths = Object.keys(all);
  const folder = paths
    .filter((path) => !LITTER.test(path) && /(^|\/)SHA256SUMS$/.test(path))
    .map((path) => path.slice(0, -'SHA256SUMS'.length))
    .filter((start) => all[`${start}result.json`] !== undefined)
    .sort((a, b) => a.length - b.length || (a < b ? -1 : 1))[0];
  if (folder === undefined) throw new Error('there is no result.json or no SHA256SUMS');
  const listed = new Set(
    new TextDecoder()
      .decode(all[`${folder}SHA256SUMS`])
      .split('\n')
      .map((line) => line.slice(66)),
  );
  const files: Bytes = {};
  const foreign: string[] = [];
  for (const path of paths) {
    const name = path.startsWith(folder) ? path.slice(folder.length) : null;
    const bytes = all[path];
    // Folders have entries of their own.
    if (bytes === undefined || (path.endsWith('/') && bytes.length === 0)) continue;
    if (name !== null && (name === 'SHA256SUMS' || listed.has(name))) files[name] = bytes;
    else foreign.push(path);
  }
  return { files, passed: foreign.length === 0 ? [] : [passedOver(foreign.sort())] };
}

function passedOver(foreign: readonly string[]): Check {
  const some = foreign.slice(0, 5).join(', ');
  const more = foreign.length > 5 ? ` and ${foreign.length - 5} more` : '';
  return {
    name: 'files that are not of the package, passed over',
    ok: true,
    found: `${some}${more}`,
    expected: 'any: SHA256SUMS does not list them, and nothing here stands on them',
  };
}
