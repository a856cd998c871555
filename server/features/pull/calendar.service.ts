import { deleteCalendar, findCalendar, findPanelOfCalendar, putCalendar } from '@oddglass/db/queries/pull.ts';
import type { CalendarDrawn, CalendarView } from '@oddglass/shared/contracts/calendar.ts';
import { onlyHost, panelFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import { hashToken, newToken } from '../../access/tokens.ts';
import type { Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { calendarOf } from './calendar.ts';
import { openPulls } from './pull.service.ts';

export async function readCalendar(deps: Deps, actor: Actor, panelId: string): Promise<CalendarView> {
  await panelFor(deps.db, actor, panelId);
  return viewOf(deps, panelId);
}

async function viewOf({ db }: Deps, panelId: string): Promise<CalendarView> {
  const row = await findCalendar(db, panelId);
  return {
    drawnAt: row?.drawnAt.toISOString() ?? null,
    drawnBy: row ? (row.drawnBy ?? 'someone who left') : null,
  };
}

/** A new secret address; the one before leads nowhere from now on. */
export async function drawCalendar(deps: Deps, actor: Actor, panelId: string): Promise<CalendarDrawn> {
  onlyHost(await panelFor(deps.db, actor, panelId));
  const token = newToken(deps.random);
  await putCalendar(deps.db, {
    panelId,
    tokenHash: hashToken(token),
    drawnBy: actor.id,
    drawnAt: deps.clock(),
  });
  return { ...(await viewOf(deps, panelId)), token };
}

export async function endCalendar(deps: Deps, actor: Actor, panelId: string): Promise<CalendarView> {
  onlyHost(await panelFor(deps.db, actor, panelId));
  await deleteCalendar(deps.db, panelId);
  return viewOf(deps, panelId);
}

/** What whoever holds the address reads, without an account: titles of trials and names of pulls. */
export async function calendarText(deps: Deps, token: string, origin: string): Promise<string> {
  const panel = await findPanelOfCalendar(deps.db, hashToken(token));
  if (!panel) throw problem('not-found');
  return calendarOf({ panel, pulls: await openPulls(deps.db, panel.id), now: deps.clock(), origin });
}
