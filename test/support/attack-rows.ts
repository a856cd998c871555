import { tidyAnswers } from '@oddglass/shared/export/tidy.ts';
import type { Publication, PublishedRow } from '@oddglass/shared/contracts/publication.ts';
import type { Tasting } from './attack-panel.ts';

export type Labelled = Map<string, PublishedRow[]>;

/** Rows of the first session of a publication, by label, in the order in which labels come up. */
export function byLabel(published: Publication): Labelled {
  return Map.groupBy(published.sessions[0]?.rows ?? [], ({ person }) => person);
}

/** Labels under which somebody's marks stand: one per person, since everybody marked every cup. */
export function markers(published: Publication): Labelled {
  return new Map([...byLabel(published)].filter(([, rows]) => rows.some(({ kind }) => kind === 'rating')));
}

const keyOf = ({
  part,
  sample,
  question,
  value,
}: Pick<PublishedRow, 'part' | 'sample' | 'question' | 'value'>) =>
  JSON.stringify([part, sample, question, value]);

/** Who is really behind rows: not known to an attacker, only to those who count how often an attacker is right. */
export function oracle({ session }: Tasting): (rows: readonly PublishedRow[], seat: number) => boolean {
  const said = new Map<string, Set<string>>();
  for (const row of tidyAnswers(session.input)) {
    const own = said.get(row.assessor) ?? new Set<string>();
    said.set(row.assessor, own.add(keyOf(row)));
  }
  return (rows, seat) => {
    const own = said.get(`a${seat}`);
    const told = rows.filter(({ kind, question }) => kind !== 'triangle' && question !== 'another word');
    return told.length > 0 && told.every((row) => own?.has(keyOf(row)) ?? false);
  };
}

/** Trays opened in a publication, found by the codes of a photographed one: its cups by arm, left to right. */
export function openedTray(published: Publication, codes: readonly string[]): string[] | null {
  const [session] = published.sessions;
  const arms = new Map(session?.samples.map(({ sampleId, arm }) => [sampleId, arm]));
  for (const { kind, body } of session?.seal.leaves ?? []) {
    if (kind !== 'tray') continue;
    const servings = body['servings'] as { position: number; code: string; sampleId: string }[];
    if (!codes.every((code) => servings.some((one) => one.code === code))) continue;
    return [...servings]
      .sort((a, b) => a.position - b.position)
      .map(({ sampleId }) => arms.get(sampleId) ?? '');
  }
  return null;
}

/** What a photograph of somebody's tray of a part shows. */
export function photographOf(
  { plan }: Tasting,
  seat: number,
  part: number,
): { trayId: string; codes: string[] } {
  const tray = plan.seats.find(({ number }) => number === seat)?.trays.find((one) => one.part === part);
  if (!tray) throw new Error(`seat ${seat} has no tray of part ${part}`);
  return { trayId: tray.id, codes: tray.servings.map(({ code }) => code) };
}
