import { crc32, deflateSync } from 'node:zlib';
import { openPublication, robotsOf } from '#lib/publication/open.ts';
import { PICTURE, pictureOf, pixelsOf } from '#lib/publication/picture.ts';
import { pngOf } from '#lib/publication/png.ts';
import type { RequestHandler } from './$types';

/** The picture beside a shared link: the answers as dots. */
export const GET: RequestHandler = async ({ fetch, params, url }) => {
  const { view, publication } = await openPublication(fetch, params.address, url);
  const png = pngOf(pixelsOf(pictureOf(publication)), PICTURE, { deflate: deflateSync, crc: crc32 });
  return new Response(png, {
    headers: {
      'content-type': 'image/png',
      // As short as the files: what was withdrawn is not shown beside a link for long.
      'cache-control': 'public, max-age=60, must-revalidate',
      ...robotsOf(view),
    },
  });
};
