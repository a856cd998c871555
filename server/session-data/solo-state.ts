import {
  listSoloRows,
  listSoloSeries,
  type SoloAnswerRow,
  type SoloRows,
  type SoloSeries,
  type SoloStoodRow,
} from '@oddglass/db/queries/solo.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { SoloState } from '@oddglass/shared/rules/solo.ts';

/** The newest entry of what stood on a tray: the one that no other puts right. */
export function standingOf(rows: readonly SoloStoodRow[], tray: number): SoloStoodRow | undefined {
  const own = rows.filter((row) => row.tray === tray);
  return own.find(({ id }) => !own.some(({ replaces }) => replaces === id));
}

/** What was written of one series, as the rules read it. */
export function soloStateOf(
  { settings, plan }: Pick<SoloSeries, 'settings' | 'plan'>,
  { answers, stood, moments }: Pick<SoloRows, 'answers' | 'stood' | 'moments'>,
): SoloState {
  return {
    settings,
    plan,
    trays: plan.trays.map((_, at) => ({
      answer: answers.find(({ tray }) => tray === at + 1)?.answer ?? null,
      stood: standingOf(stood, at + 1) ?? null,
    })),
    cautionsRead: moments.some(({ kind }) => kind === 'cautions'),
    ended: moments.some(({ kind }) => kind === 'ended'),
  };
}

/** Rows of one series among those of several. */
export function rowsOf(rows: SoloRows, id: string): SoloRows {
  const own = ({ seriesId }: { seriesId: string }): boolean => seriesId === id;
  return {
    answers: rows.answers.filter(own),
    locks: rows.locks.filter(own),
    stood: rows.stood.filter(own),
    moments: rows.moments.filter(own),
  };
}

export interface SoloWithState {
  series: SoloSeries;
  answers: SoloAnswerRow[];
  stood: SoloStoodRow[];
  state: SoloState;
}

/** Every solo series of a trial, newest first. */
export async function readSoloStates(db: Db, trialId: string): Promise<SoloWithState[]> {
  const series = await listSoloSeries(db, trialId);
  if (series.length === 0) return [];
  const rows = await listSoloRows(
    db,
    series.map(({ id }) => id),
  );
  return series.map((one) => {
    const own = rowsOf(rows, one.id);
    return { series: one, answers: own.answers, stood: own.stood, state: soloStateOf(one, own) };
  });
}
