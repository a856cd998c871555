import type { PreferenceResult } from '../../contracts/result-choice.ts';
import type { Caveat, MethodNote, SessionFacts } from '../../contracts/result-common.ts';
import { commonCaveats, plainCaveat } from '../common/caveats.ts';
import type { PreferenceFigures, PreferencePart } from './preference-result.ts';
import type { PartInput } from '../common/served.ts';
import { capital, inWords, pEquals, people, percent, timesIn, upTo } from '../../ground/phrases.ts';

// Below this the smallest p the design could give belongs beside the result.
const SMALL_PANEL = 10;

/** The finding in sentences. An even split is never written as 'the same'. */
export function preferenceFinding(
  figures: PreferenceFigures,
  session: SessionFacts,
): PreferenceResult['finding'] {
  const { served, test, share, noPreference } = figures;
  if (served.answers === 0) {
    return {
      verdict: 'no-data',
      headline: 'Nobody answered, so nothing can be said.',
      lede: 'No ballot came in before the tasting was closed.',
    };
  }
  const name = (armId: string | undefined) => session.arms.find(({ id }) => id === armId)?.name ?? '?';
  const undecided = noPreferenceSentence(figures);
  if (!share) {
    return {
      verdict: 'preference-not-shown',
      headline: 'Nobody preferred either arm.',
      lede: `${undecided} Without a preference there is nothing to test.`,
    };
  }
  const lead = name(share.armId);
  const other = name(figures.settings.armIds.find((armId) => armId !== share.armId));
  const even = 2 * test.most === test.answers;
  const beside =
    noPreference.answers > 0 ? ` ${capital(inWords(noPreference.answers))} had no preference.` : '';
  const found = even
    ? `${capital(inWords(test.most))} preferred ${lead}, as many ${other}`
    : `${capital(inWords(test.most))} of ${inWords(test.answers)}${noPreference.answers > 0 ? ' with a preference' : ''} preferred ${lead}`;
  const tested = `exact two-sided ${pEquals(test.p)}, alpha fixed beforehand at ${test.alpha}`;
  const interval = `Of people like these who have a preference, between ${percent(share.lower)} and ${upTo(share.upper)} would prefer ${lead} (${percent(share.level)} interval).`;
  if (test.critical !== null && test.most >= test.critical) {
    return {
      verdict: 'preference-shown',
      headline: `${found}. Chance alone gives so uneven a split ${timesIn(test.p)}.${beside}`,
      lede: `${lead} was preferred to ${other} (${tested}). ${interval} ${undecided}`.trim(),
    };
  }
  return {
    verdict: 'preference-not-shown',
    headline: `${found}: no preference was demonstrated.${beside}`,
    lede:
      `${even ? 'An even split shows no preference either way' : `Chance alone gives a split at least so uneven ${timesIn(test.p)}`} ` +
      `(${tested}). ${interval} ${undecided} ` +
      'This does not show that the arms are liked alike: people may be divided.',
  };
}

function noPreferenceSentence({ noPreference, served }: PreferenceFigures): string {
  if (!noPreference.offered) return '“No preference” could not be said.';
  const { answers } = noPreference;
  const had = answers === 0 ? 'Nobody' : `${capital(inWords(answers))} of ${inWords(served.answers)}`;
  return `${had} said “no preference”; as declared beforehand, such answers are counted apart and left out of the test.`;
}

/** What goes with a preference: what every part shares, then what its design left open. */
export function preferenceCaveats(input: PartInput<PreferencePart>, figures: PreferenceFigures): Caveat[] {
  const { served, test, orders, noPreference } = figures;
  const caveats = commonCaveats(input, served);
  if (served.answers > 0 && !orders.balanced) caveats.push(plainCaveat('serving', orders.reading));
  if (test.answers > 0 && test.answers < SMALL_PANEL) {
    caveats.push(
      plainCaveat(
        'design',
        `With ${inWords(test.answers)} ${test.answers === 1 ? 'vote' : 'votes'} the smallest p this test could give is ${Number(test.smallestP.toPrecision(2))}.`,
      ),
    );
  }
  if (noPreference.answers > 0) {
    caveats.push(
      plainCaveat(
        'design',
        `The test speaks only of people who have a preference: ${people(noPreference.answers)} had none.`,
      ),
    );
  } else if (!noPreference.offered && served.answers > 0) {
    caveats.push(
      plainCaveat(
        'design',
        'A choice was forced: votes of people who had no preference are among the others.',
      ),
    );
  }
  caveats.push(
    plainCaveat(
      'generalisation',
      'People who taste analytically do not stand for those who drink it: a preference of this panel is no forecast of theirs.',
    ),
  );
  return caveats;
}

/** How every number was made: method, published source, inputs, and what it takes for granted. */
export function preferenceMethods(figures: PreferenceFigures): MethodNote[] {
  const { test, votes, noPreference, positions, orders, share } = figures;
  const inputs = `${votes.map((row) => row.votes).join(' and ')} votes, ${noPreference.answers} without a preference, counted apart`;
  const oneVote =
    'One vote per person; orders balanced; the result speaks only of people who have a preference.';
  const notes: MethodNote[] = [
    {
      id: 'exact-p',
      name: 'Exact binomial test, two-sided',
      explains:
        'How often chance alone gives a split of the votes as uneven as this or more, whichever arm leads: twice the smaller tail, at most 1. What was expected beforehand does not halve it.',
      source: 'ISO 5495; Roessler et al. 1978, Journal of Food Science 43:940',
      inputs,
      assumption: oneVote,
    },
    {
      id: 'critical-number',
      name: 'Critical number',
      explains:
        'The fewest votes for one arm, either of the two, whose exact two-sided p is at or below the alpha fixed beforehand.',
      source: 'ISO 5495; computed exactly',
      inputs: `${test.answers} votes, alpha ${test.alpha}`,
      assumption: oneVote,
    },
  ];
  if (share) {
    notes.push({
      id: 'share',
      name: 'Share of votes',
      explains:
        'Share of those with a preference who prefer the arm named more often, with its exact interval at 1 - alpha, which pairs with the test.',
      source: 'Clopper & Pearson 1934, Biometrika 26:404',
      inputs,
      assumption: oneVote,
    });
  }
  notes.push(
    {
      id: 'no-preference',
      name: 'No preference',
      explains:
        'Share of all answers that said they had none, with its exact 95 % interval. Fixed before the tasting: such answers are left out of the test and shown beside it.',
      source: 'ISO 5495; interval: Clopper & Pearson 1934, Biometrika 26:404',
      inputs: `${noPreference.answers} of ${figures.served.answers}`,
      assumption: 'One answer per person.',
    },
    {
      id: 'positions',
      name: 'Choices by place',
      explains: 'Whether the cup on the left or on the right drew more votes.',
      source: 'Exact binomial test against one half, two-sided',
      inputs: positions.rows.map(({ place, chosen }) => `${place} ${chosen}`).join(', '),
      assumption: 'Each arm stood on each side equally often.',
    },
    {
      id: 'orders',
      name: 'Orders as served',
      explains: 'Answers per serving order; the analysis is by what was served, not by what was planned.',
      source: 'ISO 5495: both orders used equally often',
      inputs: orders.rows.map(({ order, served }) => `${order} ${served}`).join(', '),
      assumption: 'Cups were poured and set as the plan says.',
    },
  );
  return notes;
}
