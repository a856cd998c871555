import { listKeyedServings, listPouredMoments } from '@oddglass/db/queries/key.ts';
import { listLiquid } from '@oddglass/db/queries/liquid.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Db } from '@oddglass/db/client.ts';
import { seatsAway } from './sites-away.ts';

export interface Poured {
  armId: string;
  ml: number;
  at: Date;
}

/**
 * What a tasting took of each arm: the cups that were ticked, or, where nobody ticked, those of the seats that were taken.
 * Cups stand at the moment of the last of them, apart by what was counted between: a count holds what was poured before
 * it already. It is asked when the key turns: before, it would tell by its steps which cup was filled from which bottle.
 */
export async function pouredByArm(
  db: Db,
  { id, settings }: Pick<Session, 'id' | 'settings'>,
  untold: Date,
): Promise<Poured[]> {
  // One after the other: a transaction has one connection.
  const servings = await listKeyedServings(db, id);
  const ticked = await listPouredMoments(db, id);
  const away = await seatsAway(db, { id, settings });
  const cups = servings.flatMap(({ servingId, armId, seat, seatTaken }) => {
    // What another server poured is ticked there, and known here by the seats that were taken.
    const ticks = ticked.size > 0 && !away.has(seat);
    const at = ticks ? ticked.get(servingId) : seatTaken ? untold : undefined;
    return at ? [{ armId, at }] : [];
  });
  const armIds = [...new Set(cups.map(({ armId }) => armId))];
  const counts = (await listLiquid(db, armIds)).filter(({ kind }) => kind === 'counted');
  const countsBefore = ({ armId, at }: (typeof cups)[number]): number =>
    counts.filter((count) => count.armId === armId && Date.parse(count.at) < at.getTime()).length;
  return [...Map.groupBy(cups, (cup) => `${cup.armId} ${countsBefore(cup)}`).values()].flatMap((together) => {
    const [first] = together;
    if (!first) return [];
    const last = Math.max(...together.map(({ at }) => at.getTime()));
    return [{ armId: first.armId, ml: together.length * settings.cupMl, at: new Date(last) }];
  });
}
