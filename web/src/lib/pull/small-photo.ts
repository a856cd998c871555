import { PHOTO_BYTES, PHOTO_SIDE } from '@oddglass/shared/contracts/photo.ts';

/** Sides of a picture made to fit; never made larger. */
export function sidesWithin(
  width: number,
  height: number,
  side = PHOTO_SIDE,
): { width: number; height: number } {
  const factor = Math.min(1, side / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * factor)), height: Math.max(1, Math.round(height * factor)) };
}

/**
 * A photo drawn anew, smaller, as JPEG: what a camera wrote into the file (place, time, device) does not come along. Null
 * where the browser cannot read the picture.
 */
export async function smallPhoto(file: Blob): Promise<Blob | null> {
  let picture: ImageBitmap;
  try {
    picture = await createImageBitmap(file, { imageOrientation: 'from-image' });
  } catch {
    return null;
  }
  for (const [side, quality] of [
    [PHOTO_SIDE, 0.85],
    [PHOTO_SIDE, 0.7],
    [1200, 0.7],
    [900, 0.6],
  ] as const) {
    const { width, height } = sidesWithin(picture.width, picture.height, side);
    const canvas = Object.assign(document.createElement('canvas'), { width, height });
    canvas.getContext('2d')?.drawImage(picture, 0, 0, width, height);
    const jpeg = await new Promise<Blob | null>((done) => canvas.toBlob(done, 'image/jpeg', quality));
    if (jpeg && jpeg.size <= PHOTO_BYTES) return jpeg;
  }
  return null;
}
