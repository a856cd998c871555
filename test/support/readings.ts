import { randomUUID } from 'node:crypto';
import type { TrialPulls } from '@oddglass/shared/contracts/pull.ts';
import type { GravityUnit, ReadingInput } from '@oddglass/shared/contracts/reading.ts';

import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { Hosted } from './app.ts';

interface Read {
  ph?: string;
  calibratedOn?: string | null;
  gravity?: string;
  unit?: GravityUnit;
  sampleC?: number | null;
  takenAt?: string;
}

/** A reading as a device sends it, on the day on which the server's clock of the tests starts. */
export function readingOf({
  ph,
  calibratedOn = '2031-03-04',
  gravity,
  unit = 'sg',
  sampleC = null,
  takenAt = '2031-03-04T18:00:00Z',
}: Read): ReadingInput {
  return {
    id: randomUUID(),
    replaces: null,
    takenAt,
    typed: {
      ph: ph === undefined ? null : { text: ph, meterCalibratedOn: calibratedOn },
      gravity:
        gravity === undefined
          ? null
          : {
              text: gravity,
              unit,
              instrument: 'hydrometer',
              sampleC,
              calibratedAtC: 20,
              originalBrix: null,
              wortFactor: 1,
            },
      temperature: null,
      taken: null,
    },
    added: '',
    looks: '',
    smell: '',
    note: '',
    confirmed: [],
  };
}

const segment = (marker: number, body: Buffer): Buffer => {
  const length = Buffer.alloc(2);
  length.writeUInt16BE(body.length + 2);
  return Buffer.concat([Buffer.from([0xff, marker]), length, body]);
};

/**
 * A JPEG by the segments of ITU-T T.81: frame, tables, a scan with stuffing and a restart; `secrets` adds what cameras and
 * programs write, behind the end of the image too.
 */
export function smallJpeg({ secrets = false, side = 8 }: { secrets?: boolean; side?: number }): Buffer {
  const frame = Buffer.from([8, side >> 8, side & 255, 0, 8, 1, 1, 0x11, 0]);
  return Buffer.concat([
    Buffer.from([0xff, 0xd8]),
    segment(0xe0, Buffer.from('JFIF\0\x01\x01\0\0\x01\0\x01\0\0', 'latin1')),
    ...(secrets
      ? [
          segment(0xe1, Buffer.from('Exif\0\0GPS 12.34')),
          segment(0xe1, Buffer.from('http://ns.adobe.com/xap/1.0/\0<x/>')),
          segment(0xed, Buffer.from('Photoshop 3.0\0IPTC')),
          segment(0xe0, Buffer.from('JFXX\0thumbnail')),
          segment(0xfe, Buffer.from('made by somebody')),
        ]
      : []),
    segment(0xdb, Buffer.alloc(65, 1)),
    segment(0xc0, frame),
    segment(0xda, Buffer.from([1, 1, 0, 0, 63, 0])),
    Buffer.from([0x12, 0xff, 0x00, 0x34, 0xff, 0xd0, 0x56]),
    Buffer.from([0xff, 0xd9]),
    ...(secrets ? [Buffer.from('Exif trailer GPS')] : []),
  ]);
}

/** A pull of a trial at which every arm was read, fit to taste; its id. */
export async function pulledBefore(host: Hosted, trial: TrialView): Promise<string> {
  const pull = { id: randomUUID(), name: 'Before', when: { kind: 'day', on: '2031-03-04' } };
  await host.caller.ok<TrialPulls>('POST', `/api/trials/${trial.id}/pulls`, { pulls: [pull] });
  for (const { id } of trial.arms)
    await host.caller.ok(
      'POST',
      `/api/pulls/${pull.id}/arms/${id}/readings`,
      readingOf({ ph: '3,8', gravity: '1,010' }),
    );
  return pull.id;
}
