import type { IndexLine, EffectScale } from '../contracts/publication-index.ts';
import type { Publication, PublishedSession } from '../contracts/publication.ts';
import type { MarkFigures } from '../contracts/result-rating.ts';
import type { PartResult } from '../contracts/result.ts';
import { scaleOf } from './deposit.ts';

// What a panel's publications found, a line per part, for whoever puts studies together.

/** The newest version of a listed publication that is not withdrawn. */
export interface Listed {
  publication: Publication;
  address: string;
  /** Whole address of the page; null: nobody knows. */
  url: string | null;
}

interface Effect {
  attribute: string;
  first: string;
  second: string;
  n: number | null;
  scale: EffectScale;
  unit: string;
  effect: number | null;
  standardError: number | null;
}

/**
 * Lines of all parts, newest publication first. A session in several publications counts once, by the newest of them, and
 * the line says where else it stands. Nothing in it that the publications do not tell, or that follows from what they tell.
 */
export function panelIndex(listed: readonly Listed[]): IndexLine[] {
  const newest = [...listed].sort((a, b) => (a.publication.publishedOn < b.publication.publishedOn ? 1 : -1));
  const found = new Map<string, IndexLine>();
  for (const one of newest) {
    for (const line of linesOf(one)) {
      const key = JSON.stringify([line.root, line.part, line.attribute]);
      const known = found.get(key);
      if (!known) found.set(key, line);
      else if (known.address !== line.address) known.alsoAt.push(line.address);
    }
  }
  return [...found.values()];
}

function linesOf({ publication, address, url }: Listed): IndexLine[] {
  const { version, publishedOn, licence, deposit, demo } = publication;
  const nameOf = (id: string): string => publication.arms.find((arm) => arm.id === id)?.name ?? '';
  return publication.sessions.flatMap((session) => {
    const { seal, blinding, tier, heldIn } = session;
    const about = { blinding, tier, month: heldIn, address, url, version, publishedOn, licence };
    const rest = { ...about, doi: deposit?.doi ?? null, invented: demo, alsoAt: [] };
    return [
      ...session.parts.flatMap((part) =>
        effectsOf(part, nameOf).map((effect) => ({
          root: seal.root,
          part: part.part,
          kind: part.kind,
          assessors: part.served.assessors,
          ...effect,
          aim: 'aim' in part.settings ? part.settings.aim : null,
          ...rest,
          alsoAt: [],
        })),
      ),
      ...withheldParts(session).map(({ part, kind }) => ({
        root: seal.root,
        part,
        kind,
        assessors: null,
        ...NO_EFFECT,
        aim: null,
        ...rest,
        alsoAt: [],
      })),
    ];
  });
}

const withheldParts = ({ withheld }: PublishedSession) => withheld ?? [];

const NO_EFFECT: Effect = {
  attribute: '',
  first: '',
  second: '',
  n: null,
  scale: '',
  unit: '',
  effect: null,
  standardError: null,
};

/** The effect of a part on the one scale of its kind; of a rating one for each attribute. */
function effectsOf(part: PartResult, nameOf: (armId: string) => string): Effect[] {
  switch (part.kind) {
    case 'preference':
      return [preferred(part, nameOf)];
    case 'rating':
      return part.attributes.map((figures) => ({
        ...marked(figures, part.samples, scaleOf(part.settings.scale).unit),
        attribute: figures.name,
      }));
    case 'liking':
      return [marked(part.figures, part.samples, scaleOf('nine-point').unit)];
    case 'control':
      return [fromControl(part)];
    case 'ranking':
      return [{ ...NO_EFFECT, attribute: part.settings.attribute }];
    case 'description':
      return [NO_EFFECT];
    default: {
      const [first = '', second = ''] = part.settings.armIds.map(nameOf);
      const estimate = part.dPrime?.estimate ?? null;
      return [
        {
          ...NO_EFFECT,
          attribute: 'attribute' in part.settings ? part.settings.attribute : '',
          first,
          second,
          n: part.test.answers,
          scale: part.dPrime === null ? '' : 'd-prime',
          effect: estimate,
          standardError: estimate === null ? null : (part.dPrime?.standardError ?? null),
        },
      ];
    }
  }
}

/**
 * Natural logarithm of the odds of the first arm; standard error by the delta method, sqrt(1/a + 1/b).
 * Null where one of them got no vote. Source: Woolf 1955, Annals of Human Genetics 19:251 (from memory).
 */
export function logOdds(first: number, second: number): { effect: number; standardError: number } | null {
  if (first === 0 || second === 0) return null;
  return { effect: Math.log(first / second), standardError: Math.sqrt(1 / first + 1 / second) };
}

function preferred(
  { votes }: Extract<PartResult, { kind: 'preference' }>,
  nameOf: (armId: string) => string,
): Effect {
  const [a, b] = votes;
  if (!a || !b) return NO_EFFECT;
  return {
    ...NO_EFFECT,
    first: nameOf(a.armId),
    second: nameOf(b.armId),
    n: a.votes + b.votes,
    scale: 'log-odds',
    ...logOdds(a.votes, b.votes),
  };
}

interface Named {
  key: string;
  name: string;
}

/** Of two samples, their difference; of more, no single one. */
function marked(figures: MarkFigures, samples: readonly Named[], unit: string): Effect {
  const [pair] = figures.pairs;
  if (!pair || figures.samples.length !== 2) return { ...NO_EFFECT, n: figures.n };
  const nameOf = (key: string): string => samples.find((one) => one.key === key)?.name ?? '';
  return {
    ...NO_EFFECT,
    first: nameOf(pair.first),
    second: nameOf(pair.second),
    n: figures.n,
    scale: 'mean difference',
    unit,
    effect: pair.difference,
    standardError: pair.standardError,
  };
}

function fromControl({
  comparisons,
  samples,
  control,
  figures,
  settings,
}: Extract<PartResult, { kind: 'control' }>): Effect {
  const [row] = comparisons?.rows ?? [];
  if (!row || comparisons?.rows.length !== 1) return { ...NO_EFFECT, n: figures.n };
  const nameOf = (key: string): string => samples.find((one) => one.key === key)?.name ?? '';
  return {
    ...NO_EFFECT,
    first: nameOf(row.sample),
    second: nameOf(control),
    n: figures.n,
    scale: 'mean difference',
    unit: `degrees from 0 to ${settings.degrees.length - 1}`,
    effect: row.difference,
    standardError: row.standardError,
  };
}
