/** A part of the product where a mistake costs most: what is mutated, and the tests that have to notice. */
export interface Area {
  name: string;
  /** Globs of the files mutated, from the root. */
  mutate: string[];
  /** The project of the test configuration, and globs of its tests. */
  project: 'unit' | 'api';
  tests: string[];
  /** Sentences are not mutated: those for readers are not what this area promises. */
  sentencesAside?: boolean;
}

// The one place that names files: after a move of folders, change it here, and the keys of survivors.json.
export const AREAS: readonly Area[] = [
  {
    name: 'seal',
    mutate: ['shared/design/{seal,merkle,canonical-json}.ts'],
    project: 'unit',
    tests: ['test/design/{seal,merkle,canonical-json,prove-leaves}.test.ts'],
  },
  {
    name: 'orders',
    mutate: [
      'shared/design/{choice-orders,orders,williams,codes}.ts',
      'shared/ground/random.ts',
      'shared/design/{plan,flight}*.ts',
    ],
    project: 'unit',
    tests: [
      'test/design/{choice-orders,orders,williams,codes,plan-draw,flight,incomplete-blocks,informed-guesser}.test.ts',
      'test/ground/random.test.ts',
    ],
    sentencesAside: true,
  },
  {
    name: 'verdicts',
    mutate: [
      'shared/analysis/choice/{choice,figures,judge,finding}.ts',
      'shared/analysis/rating/{figures,verdict}.ts',
    ],
    project: 'unit',
    tests: [
      'test/analysis/choice/choice-{judging,figures,findings,likeness,words,numbers}.test.ts',
      'test/analysis/choice/{choice,preference,same-different}.test.ts',
      'test/analysis/rating/{figures,figures-bounds,rating,rating-trust,rating-adjustment,liking,control}.test.ts',
    ],
    sentencesAside: true,
  },
  // Beside the verdicts, with few tests: most of it is built while a module loads, where each mutant is tried by all of them.
  {
    name: 'kinds',
    mutate: ['shared/kinds/{choice,triangle,duo-trio,tetrad,three-afc,directional-pair}.ts'],
    project: 'unit',
    tests: ['test/kinds/{choices,kinds}.test.ts', 'test/analysis/choice/choice-{judging,findings}.test.ts'],
    sentencesAside: true,
  },
  {
    name: 'disclosure',
    mutate: ['shared/publication/disclosure{,-cells,-choice,-flights,-marks,-parts}.ts'],
    project: 'unit',
    tests: ['test/publication/disclosure*.test.ts'],
    sentencesAside: true,
  },
  {
    name: 'rules',
    mutate: ['shared/rules/*.ts'],
    project: 'unit',
    tests: ['test/rules/*.test.ts', 'test/web/{bench-feed,seat-sheets}.test.ts'],
    sentencesAside: true,
  },
  // Tests of the API take a second or more for each mutant: an area names only the files that are about its code, first those
  // that notice most. Who a request comes from is asked of a small service of its own.
  {
    name: 'blindfold',
    mutate: ['server/access/actor.ts'],
    project: 'api',
    tests: ['test/server/actor.test.ts', 'test/server/paper.test.ts'],
    sentencesAside: true,
  },
  {
    name: 'cautions',
    mutate: ['server/session-data/seat-session.ts'],
    project: 'api',
    tests: ['test/server/{seat,safety}.test.ts'],
    sentencesAside: true,
  },
  {
    name: 'acknowledgement',
    mutate: ['server/features/seat/ballot.service.ts', 'db/queries/ballot.ts'],
    project: 'api',
    tests: ['test/server/{ballot,progress,answer-seal,receipt}.test.ts'],
    sentencesAside: true,
  },
  {
    name: 'seat',
    mutate: ['server/features/seat/seat.service.ts'],
    project: 'api',
    tests: ['test/server/{seat,progress,hand-over,warm-up-cup}.test.ts'],
    sentencesAside: true,
  },
  {
    name: 'access',
    mutate: ['server/access/panel-access.ts', 'server/features/seat/join.service.ts'],
    project: 'api',
    tests: ['test/server/{access,join,door}.test.ts'],
    sentencesAside: true,
  },
  {
    name: 'guesses',
    mutate: ['server/guard/attempts.ts'],
    project: 'api',
    tests: ['test/server/attempt-limit.test.ts'],
    sentencesAside: true,
  },
];

/** Small enough for every day, and the first that must not break: what a seal commits to. */
export const SHORT: Area = {
  name: 'short',
  mutate: ['shared/design/merkle.ts', 'shared/rules/session.ts'],
  project: 'unit',
  tests: ['test/design/{seal,merkle,prove-leaves}.test.ts', 'test/rules/session.test.ts'],
};

/** The area that this process was asked for by name. */
export function areaNamed(name: string | undefined): Area {
  const area = [...AREAS, SHORT].find((one) => one.name === name);
  if (!area) throw new Error(`there is no area ${name}: ${AREAS.map((one) => one.name).join(', ')}`);
  return area;
}
