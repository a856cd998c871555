import { createHash } from 'node:crypto';
import type { PackageFile } from '@oddglass/shared/publication/package.ts';

const sha256 = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');
const textOf = ({ bytes }: PackageFile): string => new TextDecoder().decode(bytes);

/** Somebody who knows that there are sums, and writes them anew: of the tables in datapackage.json, of all in SHA256SUMS. */
export function withNewSums(list: readonly PackageFile[], of: string): PackageFile[] {
  const bytesOf = (path: string) => list.find((one) => one.path === path)?.bytes ?? new Uint8Array();
  const resummed = list.map((file) => {
    if (file.path !== 'datapackage.json' || of === 'datapackage.json') return file;
    const descriptor = JSON.parse(textOf(file)) as {
      resources: { path: string; bytes: number; hash: string }[];
    };
    for (const resource of descriptor.resources) {
      resource.bytes = bytesOf(resource.path).length;
      resource.hash = `sha256:${sha256(bytesOf(resource.path))}`;
    }
    return { path: file.path, bytes: new TextEncoder().encode(JSON.stringify(descriptor)) };
  });
  const sums = resummed
    .filter(({ path }) => path !== 'SHA256SUMS')
    .map(({ path, bytes }) => `${sha256(bytes)}  ${path}\n`)
    .join('');
  return resummed.map((file) =>
    file.path === 'SHA256SUMS' ? { path: file.path, bytes: new TextEncoder().encode(sums) } : file,
  );
}
