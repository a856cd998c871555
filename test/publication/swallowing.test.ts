import type { AnsweredTray } from '@oddglass/shared/analysis/analyse.ts';
import type { Swallowing } from '@oddglass/shared/contracts/ballot.ts';
import { safeSwallowing } from '@oddglass/shared/publication/swallowing.ts';
import { describe, expect, test } from 'vitest';

type Ways = readonly (Swallowing | null)[];
/** A tray for each person of a part. */
const traysOf = (ways: Ways, part = 1): AnsweredTray[] =>
  ways.map((way, person) => ({
    assessor: `a${person + 1}`,
    part,
    replicate: 1,
    cups: [],
    ballots: [],
    ...(way && { swallowing: way }),
  }));
const of = (way: Swallowing | null, times: number): Ways => Array.from({ length: times }, () => way);
const tell = (trays: AnsweredTray[], smallGroups = true) => {
  const told = safeSwallowing({ trays }, { smallGroups });
  return {
    ways: told.trays.map(({ swallowing }) => swallowing ?? null),
    closed: told.swallowingWithheld ?? [],
  };
};

describe('swallowed or spat, for readers', () => {
  test.each<[string, Ways]>([
    ['two ways of three and more', [...of('swallowed', 7), ...of('spat', 3)]],
    ['three ways of three and more', [...of('swallowed', 4), ...of('spat', 3), ...of('some-of-each', 3)]],
    ['three and more who said nothing', [...of('swallowed', 4), ...of('spat', 3), ...of(null, 3)]],
  ])('is told where there are %s', (_why, ways) => {
    expect(tell(traysOf(ways))).toEqual({ ways, closed: [] });
  });

  test.each<[string, Ways]>([
    ['two spat', [...of('swallowed', 8), ...of('spat', 2)]],
    ['one did some of each', [...of('swallowed', 5), ...of('spat', 5), 'some-of-each']],
    ['two said nothing', [...of('swallowed', 5), ...of('spat', 5), ...of(null, 2)]],
    ['all did the same', of('swallowed', 12)],
    ['all who said anything did the same', [...of('spat', 6), ...of(null, 6)]],
    ['the panel is small', [...of('swallowed', 5), ...of('spat', 4)]],
  ])('is withheld where %s', (_why, ways) => {
    expect(tell(traysOf(ways))).toEqual({ ways: ways.map(() => null), closed: [1] });
    expect(tell(traysOf(ways), false)).toEqual({ ways, closed: [] });
  });

  test('is judged part by part, by people and not by trays', () => {
    const open = [...of('swallowed', 7), ...of('spat', 3)];
    const shut = [...of('swallowed', 9), ...of('spat', 1)];
    const both = tell([...traysOf(open), ...traysOf(shut, 2)]);
    expect(both.closed).toEqual([2]);
    expect(both.ways.slice(0, 10)).toEqual(open);
    expect(both.ways.slice(10)).toEqual(shut.map(() => null));
    // Three trays that were spat, all of one person.
    const thrice = [1, 2, 3].flatMap((replicate) => traysOf(shut).map((tray) => ({ ...tray, replicate })));
    expect(tell(thrice).closed).toEqual([1]);
  });

  test('is not spoken of where nobody told it', () => {
    expect(tell(traysOf(of(null, 12)))).toEqual({ ways: of(null, 12), closed: [] });
  });
});
