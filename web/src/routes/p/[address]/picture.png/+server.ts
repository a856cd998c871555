import { crc32, deflateSync } from 'node:zlib';
import { openPublication } from '#lib/publication/open.ts';
import { PICTURE, pictureOf, pixelsOf } from '#lib/publication/picture.ts';
import { pngOf } from '#lib/publication/png.ts';
import type { RequestHandler } from './$types';

/** The picture beside a shared link: the answers as dots. */
export const GET: RequestHandler = async ({ fetch, params, url }) => {
  const { publication, fixed } = await openPublication(fetch, params.address, url);
  const png = pngOf(pixelsOf(pictureOf(publication)), PICTURE, { deflate: deflateSync, crc: crc32 });
  const age = fixed ? 86_400 : 300;
  return new Response(png, {
    headers: { 'content-type': 'image/png', 'cache-control': `public, max-age=${age}` },
  });
};
