import { describe, expect, it } from 'vitest';
import { analyseSession, type SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import { resultDocument } from '@oddglass/shared/contracts/result.ts';
import { publishedSites } from '@oddglass/shared/publication/sites.ts';
import { KINDS, wildSession } from '../../support/wild-session.ts';

// Parts place by place, over sessions of every kind and mood: a place is a block and changes no finding.

/** The same session as if it had been held at so many places: people sit down at one after another. */
function atPlaces(input: SessionInput, places: number): SessionInput {
  const people = [...new Set(input.trays.map(({ assessor }) => assessor))].sort();
  return {
    ...input,
    session: {
      ...input.session,
      sites: Array.from({ length: places }, (_, at) => ({
        name: `Table ${at + 1}`,
        standing: 'here' as const,
        smellOnly: false,
        conditions: { temperatureC: 9 + at, looks: 'alike' as const, how: '', site: at + 1 },
      })),
    },
    trays: input.trays.map((tray) => ({ ...tray, site: 1 + (people.indexOf(tray.assessor) % places) })),
  };
}
const withoutCaveats = <T extends { caveats: unknown }>({ caveats: _, ...part }: T) => part;

describe('parts place by place', () => {
  it.each(KINDS.map((kind, at) => [kind, at] as const))(
    '%s: change no finding, and count everybody once',
    (kind, at) => {
      const { session } = wildSession(at);
      const alone = analyseSession(session.input);
      const three = analyseSession(atPlaces(session.input, 3));
      expect(resultDocument.safeParse(three).success).toBe(true);
      expect(alone).not.toHaveProperty('bySite');
      expect(three.parts.map(withoutCaveats)).toEqual(alone.parts.map(withoutCaveats));
      expect(three.bySite?.map((part) => part.kind)).toEqual(
        session.input.settings.parts.map((part) => part.kind),
      );
      expect(three.bySite?.some((part) => part.kind === kind)).toBe(true);
      for (const part of three.parts) {
        const own = three.bySite?.find((one) => one.part === part.part);
        const add = (of: 'people' | 'answers') => own?.rows.reduce((sum, row) => sum + row[of], 0);
        expect([add('people'), add('answers')]).toEqual([part.served.assessors, part.served.answers]);
        expect(own?.reading).not.toBe('');
        for (const { p } of own?.tests ?? []) {
          expect(p).toBeGreaterThanOrEqual(0);
          expect(p).toBeLessThanOrEqual(1);
        }
        if ('test' in part && part.test && 'counted' in part.test && own?.counts !== '')
          expect(own?.rows.reduce((sum, { counted }) => sum + (counted ?? 0), 0)).toBe(part.test.counted);
      }
    },
  );

  it('say in caveats what was noted at each place, and whose ballots are missing', () => {
    const { session } = wildSession(0);
    const held = atPlaces(session.input, 2);
    const [first, second] = held.session.sites ?? [];
    const input: SessionInput = {
      ...held,
      session: {
        ...held.session,
        sites: [
          { ...first!, conditions: { ...first!.conditions!, looks: 'differ' } },
          { ...second!, standing: 'elsewhere' },
          { name: 'Table 3', standing: 'joined', smellOnly: true },
        ],
      },
    };
    const said = analyseSession(input)
      .parts.flatMap(({ caveats }) => caveats.map(({ text }) => text))
      .join(' ');
    expect(said).toContain('The arms looked different in the cups at Table 1');
    expect(said).toContain('The ballots of Table 2 were not brought before the tasting closed');
    expect(said).toContain('At Table 3 the cups were smelled and not tasted');
    expect(said).toContain('How the cups were served at Table 3 was not noted');
  });

  it('are withheld whole from readers where somebody took answers back, or a place is small', () => {
    const { session } = wildSession(0);
    const input = atPlaces(session.input, 2);
    const row = (site: number, people: number) => ({ site, people, answers: people, counted: 5 });
    const result = (rows: ReturnType<typeof row>[]) => ({
      ...analyseSession(input),
      bySite: [{ part: 1, kind: 'liking', rows, counts: '', tests: [], reading: 'as found' }],
    });
    const given = { ...session, withdrawn: 0 };
    const large = result([row(1, 10), row(2, 12)]);
    const told = [{ part: { part: 1 } }];
    const choice = session.input.settings.parts[0];
    const once = choice && !('replicates' in choice && choice.replicates > 1);
    expect(publishedSites(given, input, large, told)?.compared === null).toBe(!once);
    expect(publishedSites({ ...given, withdrawn: 3 }, input, large, told)?.compared).toBeNull();
    expect(publishedSites(given, input, result([row(1, 9), row(2, 12)]), told)?.compared).toBeNull();
    expect(publishedSites(given, input, result([row(1, 10), row(2, 7)]), told)?.compared).toBeNull();
    expect(publishedSites(given, input, large, [])?.compared).toBeNull();
    const few = [row(1, 10), { ...row(2, 12), counted: 2 }];
    expect(publishedSites(given, input, result(few), told)?.compared).toBeNull();
    expect(publishedSites(given, session.input, large, told)).toBeUndefined();
  });
});
