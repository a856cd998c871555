import type { SessionInput } from '../analysis/analyse.ts';
import type { PublishedSites } from '../contracts/publication.ts';
import type { ResultDocument } from '../contracts/result.ts';
import type { SiteComparison } from '../contracts/result-sites.ts';
import { isDifferenceKind } from '../kinds/kinds.ts';
import { replicatesOf } from '../rules/parts.ts';
import { FULL_FROM, MIN_GROUP } from './disclosure.ts';
import type { PublishableSession } from './assemble-choices.ts';

/**
 * The places of a session for readers: how many, how the cups were served at each, and, where at least ten people answered at
 * every place and nobody took answers back, the parts place by place. Counts by place are a further table of the same answers,
 * so that they are told whole or not at all: each with at least three answers either way, and of people with one tray.
 * Undefined at one place.
 */
export function publishedSites(
  { withdrawn, atReveal, input: { settings } }: PublishableSession,
  { session }: Pick<SessionInput, 'session'>,
  { bySite = [] }: ResultDocument,
  told: readonly { part: { part: number } }[],
): PublishedSites | undefined {
  const { sites } = session;
  if (!sites) return undefined;
  const whole = withdrawn === 0 && !atReveal?.withdrawnSince;
  const large =
    bySite.length > 0 && bySite.every(({ rows }) => rows.every(({ people }) => people >= FULL_FROM));
  const compared =
    whole && large
      ? bySite
          .filter(({ part }) => told.some((one) => one.part.part === part))
          .flatMap((one) => {
            const part = settings.parts[one.part - 1];
            const once = part !== undefined && (!isDifferenceKind(part) || replicatesOf(part) === 1);
            return once && isOpen(one) ? [one] : [];
          })
      : [];
  return {
    places: sites.length,
    served: sites.map(({ standing, smellOnly, conditions }) => ({
      counted: standing !== 'elsewhere',
      smellOnly,
      temperatureC: conditions?.temperatureC ?? null,
      looks: conditions?.looks ?? null,
      minutesSincePour: conditions?.minutesSincePour ?? null,
    })),
    compared: compared.length > 0 ? compared : null,
    saying:
      compared.length > 0
        ? `Tasted at ${sites.length} places under one sealed plan, with serving orders balanced within each.`
        : `Tasted at ${sites.length} places under one sealed plan, with serving orders balanced within each. How places differ is withheld: it is told only where at least ten people answered at each, none of them took answers back, and enough said one thing and the other.`,
  };
}

/** No place at which so few counted, or did not, that it is told who did. */
const isOpen = ({ rows }: SiteComparison): boolean =>
  rows.every(
    ({ answers, counted }) => counted === null || (counted >= MIN_GROUP && answers - counted >= MIN_GROUP),
  );
