import type { PublishedSession } from '../contracts/publication.ts';
import type { PartKind } from '../contracts/part.ts';
import type { PartResult } from '../contracts/result.ts';

// Numbers and titles of standards are from memory; their clauses are not quoted, and no edition was at hand.

const SENSORY = 'Sensory analysis';
const TITLES = {
  triangle: `ISO 4120, ${SENSORY}: triangle test`,
  'duo-trio': `ISO 10399, ${SENSORY}: duo-trio test`,
  pair: `ISO 5495, ${SENSORY}: paired comparison test`,
  ranking: `ISO 8587, ${SENSORY}: ranking`,
  liking: `ISO 11136, ${SENSORY}: hedonic tests with consumers in a controlled area`,
  profile: `ISO 13299, ${SENSORY}: establishing a sensory profile`,
} as const;

const STANDARDS: Readonly<Record<PartKind, string>> = {
  triangle: TITLES.triangle,
  'duo-trio': TITLES['duo-trio'],
  tetrad: `None known here; items as ${TITLES.triangle}`,
  'two-out-of-five': `None known here; items as ${TITLES.triangle}`,
  'three-afc': `None known here; items as ${TITLES.triangle}`,
  'directional-pair': TITLES.pair,
  preference: TITLES.pair,
  'same-different': `None known here; items as ${TITLES.triangle}`,
  ranking: TITLES.ranking,
  liking: TITLES.liking,
  rating: TITLES.profile,
  description: `None known here for words to be checked; items as ${TITLES.profile}`,
  control: `None known here; items as ${TITLES.profile}`,
};

/** The standard whose report these are the items of, or the nearest one. From memory. */
export const standardOf = (kind: PartKind): string => STANDARDS[kind];

/** Fewest people that the triangle standard is remembered to advise for a difference: 24 to 30 (field notes of the project). */
const TRIANGLE_PEOPLE = 24;

/** What is told here and goes otherwise than the standard is remembered to ask; it was not held against its text. */
export function departuresOf({ blinding }: PublishedSession, part: PartResult): string {
  const { kind, served, settings } = part;
  const found = [
    ...(blinding === 'single' ? ['Whoever hosted had poured and knew the key.'] : []),
    ...('replicates' in settings && settings.replicates > 1
      ? [`Each person had ${settings.replicates} trays, so that answers are not those of different people.`]
      : []),
    ...(kind === 'triangle' && served.assessors < TRIANGLE_PEOPLE
      ? [
          `${served.assessors} people answered, fewer than the ${TRIANGLE_PEOPLE} to 30 advised for a difference.`,
        ]
      : []),
    ...('cups' in settings && settings.cups === 'before'
      ? ['It was asked on the cups of the part before.']
      : []),
  ];
  const rest = found.length > 0 ? 'Of others nothing is known' : 'Nothing is known of any';
  return [...found, `${rest}: whether it was done by the standard was not examined.`].join(' ');
}
