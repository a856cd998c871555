import type { AnsweredTray, SessionInput } from '../analysis/analyse.ts';
import { FULL_FROM, MIN_GROUP, type Protections } from './disclosure.ts';

/**
 * How many swallowed and how many spat, for readers: as it was told where the people of a part are many and every way is that
 * of three or more, those who told nothing among them; otherwise withheld, also where all did the same, which would tell of
 * each of them.
 */
export function safeSwallowing(
  { trays }: Pick<SessionInput, 'trays'>,
  { smallGroups }: Pick<Protections, 'smallGroups'>,
): Pick<SessionInput, 'trays' | 'swallowingWithheld'> {
  const of = Map.groupBy(trays, ({ part }) => part);
  const closed = [...of].flatMap(([part, own]) =>
    smallGroups && own.some(({ swallowing }) => swallowing !== undefined) && !isSafe(own) ? [part] : [],
  );
  return {
    trays: trays.map((tray) => {
      const { swallowing: _told, ...rest } = tray;
      return closed.includes(tray.part) ? rest : tray;
    }),
    ...(closed.length > 0 && { swallowingWithheld: closed }),
  };
}

function isSafe(trays: readonly AnsweredTray[]): boolean {
  const people = new Set(trays.map(({ assessor }) => assessor));
  const ways = Map.groupBy(trays, ({ swallowing }) => swallowing ?? 'untold');
  const told = [...ways.keys()].filter((way) => way !== 'untold').length;
  const groups = [...ways.values()].map((own) => new Set(own.map(({ assessor }) => assessor)).size);
  return people.size >= FULL_FROM && told > 1 && groups.every((size) => size >= MIN_GROUP);
}
