import { openDb } from '@oddglass/db/client.ts';
import { listKeyedServings, listSamples, listSealLeaves } from '@oddglass/db/queries/key.ts';
import type pg from 'pg';
import type { Truth } from './leaks.ts';

/** The key of a sealed session, as its tables have it. */
export async function readTruth(pool: pg.Pool, sessionId: string): Promise<Truth> {
  const db = openDb(pool);
  const cups = await listKeyedServings(db, sessionId);
  const [samples, leaves] = await Promise.all([listSamples(db, sessionId), listSealLeaves(db, sessionId)]);
  const seed = await pool.query<{ seed: string }>('select seed from plan_key');
  const classes = new Map<string, string>();
  for (const { servingId, code, sampleId } of cups) {
    for (const field of ['code', 'id', 'servingId'])
      classes.set(`${field}:${field === 'code' ? code : servingId}`, sampleId);
  }
  const triangles = cups.filter(({ part }) => part === 1);
  for (const [trayId, three] of Map.groupBy(triangles, (cup) => cup.trayId)) {
    // Which sample stands there twice: what a right answer on this tray would tell of.
    const doubled = three.find(
      (cup) => three.filter(({ sampleId }) => sampleId === cup.sampleId).length === 2,
    )!;
    for (const field of ['id', 'trayId']) classes.set(`${field}:${trayId}`, doubled.sampleId);
    for (const field of ['seat', 'number']) classes.set(`${field}:${doubled.seat}`, doubled.sampleId);
  }
  return {
    classes,
    secrets: [
      ...samples.map(({ id }) => id),
      ...leaves.map(({ nonce }) => nonce),
      ...seed.rows.map((row) => row.seed),
    ],
  };
}
