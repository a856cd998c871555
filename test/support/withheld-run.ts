import { analyseSession } from '@oddglass/shared/analysis/analyse.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type { MarkFigures } from '@oddglass/shared/contracts/result-rating.ts';
import type { PartResult } from '@oddglass/shared/contracts/result.ts';
import { seededRandom, type RandomSource } from '@oddglass/shared/ground/random.ts';
import { assemblePublication } from '@oddglass/shared/publication/assemble.ts';
import type { PublishableSession } from '@oddglass/shared/publication/assemble-choices.ts';
import { openMean } from '@oddglass/shared/publication/disclosure-flights.ts';
import {
  PROTECTIONS,
  PublicationRefused,
  type Protections,
} from '@oddglass/shared/publication/disclosure.ts';
import { headlineOnly, rangeOf, toldChoice, withoutOwn } from './told-answers.ts';
import { wildSession } from './wild-session.ts';

type Session = Publication['sessions'][number];

/** What a stranger found out from one publication. */
export interface Findings {
  seed: number;
  tier: Session['tier'] | 'refused';
  kinds: string[];
  /** Values tried, and those that came out, each with how. */
  tried: number;
  determined: string[];
  /** A second version was made, or refused. */
  second: 'made' | 'refused' | null;
}

/**
 * A publication of random people, cups and palates, and everything that can be reckoned from it alone: withheld orders by
 * integer programs, exact means of small panels by all sums that fit, withheld words by what is left of sums and masses,
 * palates of repeated trays by every way the answers can be dealt out, and the difference of two versions.
 */
export function tryWithheld(seed: number, protections: Protections = PROTECTIONS): Findings {
  const { session, kinds } = wildSession(seed);
  const found: Findings = { seed, tier: 'refused', kinds, tried: 0, determined: [], second: null };
  // Small panels are published only where everybody agreed; rows in one of three.
  const rows = seed % 3 === 0;
  const consents = new Map(
    session.input.trays.map(({ assessor }) => [assessor, { rows, smallGroup: true }] as const),
  );
  const given = { ...session, consents };
  const random = seededRandom(new Uint8Array(32).fill(seed % 251));
  const first = publishedOrNot(given, protections, random, null);
  const [told] = first?.sessions ?? [];
  if (!first || !told) return found;
  found.tier = told.tier;
  const exact = analyseSession(given.input).parts;
  for (const part of told.parts) {
    const whole = exact.find((one) => one.part === part.part);
    byOrders(told, part, found);
    byMeans(told, part, whole, found);
    byMasses(part, found);
    byPalates(part, given, found);
  }
  bySecondVersion(given, first, protections, random, found);
  return found;
}

function publishedOrNot(
  session: PublishableSession,
  protections: Protections,
  random: RandomSource,
  earlier: Publication | null,
): Publication | null {
  const { input } = session;
  try {
    return assemblePublication({
      sessions: [session],
      choices: {
        title: 'An invented publication',
        panel: 'An invented panel',
        licence: 'CC-BY-4.0',
        arms: input.session.arms.map(({ id, name, differs }) => ({ armId: id, name, differs })),
        comments: [],
        answers: [],
        hostAgreesSmall: true,
        publishedOn: '2031-03-20',
        version: (earlier?.version ?? 0) + 1,
        earlier,
      },
      random,
      analyse: analyseSession,
      protections,
    });
  } catch (reason) {
    if (reason instanceof PublicationRefused) return null;
    throw reason;
  }
}

/** Orders that are withheld: what is left once all that is told of the part is taken together, to readers and to one insider. */
function byOrders(session: Session, part: PartResult, found: Findings): void {
  const told = toldChoice(session, part);
  // Of several trays a person orders are not joined to people by what is told here.
  if (!told || ('replicates' in part && part.replicates !== null)) return;
  const bare = headlineOnly(told);
  const hidden = told.orders.flatMap(({ counted, served }, at) =>
    counted === null && served > 0 ? [at] : [],
  );
  // As many insiders as orders, one of each: whoever had an order and chose its first place.
  const insiders = hidden.length > 0 ? told.orders.flatMap(({ served }, at) => (served > 1 ? [at] : [])) : [];
  const views = [
    { who: 'a reader', all: told, before: bare },
    ...insiders.slice(0, 4).map((order) => ({
      who: 'an insider',
      all: withoutOwn(told, { order, place: 0 }),
      before: withoutOwn(bare, { order, place: 0 }),
    })),
  ];
  for (const { who, all, before } of views) {
    for (const at of hidden) {
      const [now, then] = [rangeOf(all, at, 0), rangeOf(before, at, 0)];
      if (!now || !then) continue;
      found.tried += 1;
      const size = all.orders[at]?.served ?? 0;
      const fixed = now.least === now.most && then.least !== then.most;
      const allOrNone = (one: typeof now) => one.most === 0 || one.least === size;
      if (fixed || (allOrNone(now) && !allOrNone(then))) {
        found.determined.push(`part ${part.part} ${part.kind}, order ${all.orders[at]?.order}, to ${who}`);
      }
    }
  }
}

/** Means of small panels: how many sums of whole marks come to what is told, and does the exact figure stand anywhere? */
function byMeans(session: Session, part: PartResult, whole: PartResult | undefined, found: Findings): void {
  if (session.tier === 'full' && part.served.assessors >= 10) return;
  const text = JSON.stringify(part);
  const tell = (what: string, exact: number): void => {
    found.tried += 1;
    // What is as good as none or all is in any text; four digits and more: fewer stand there by chance.
    const digits = exact.toPrecision(6).replace(/0+$/, '');
    if (Math.min(exact, Math.abs(1 - exact)) < 1e-3) return;
    if (digits.replace(/\D/g, '').replace(/^0+/, '').length < 5) return;
    if (text.includes(digits.slice(0, 6)))
      found.determined.push(`part ${part.part} ${part.kind}: ${what} ${digits}`);
  };
  const lists: { told: MarkFigures; exact: MarkFigures; ends: [number, number]; step: number }[] = [];
  if (part.kind === 'rating' && whole?.kind === 'rating') {
    const line = part.settings.scale === 'line';
    for (const told of part.attributes) {
      const exact = whole.attributes.find(({ id }) => id === told.id);
      if (exact) lists.push({ told, exact, ends: line ? [0, 100] : [1, 9], step: line ? 5 : 0.5 });
    }
  }
  if (part.kind === 'liking' && whole?.kind === 'liking')
    lists.push({ told: part.figures, exact: whole.figures, ends: [1, 9], step: 0.5 });
  if (part.kind === 'control' && whole?.kind === 'control')
    lists.push({
      told: part.figures,
      exact: whole.figures,
      ends: [0, part.settings.degrees.length - 1],
      step: 0.5,
    });
  for (const { told, exact, ends, step } of lists) {
    told.samples.forEach(({ mean, n }, at) => {
      if (mean === null || n < 2) return;
      found.tried += 1;
      const sums = Array.from({ length: n * (ends[1] - ends[0]) + 1 }, (_, one) => n * ends[0] + one);
      const fitting = sums.filter((sum) => openMean(sum / n, n, ends, step) === mean);
      if (fitting.length < 3) found.determined.push(`part ${part.part} ${part.kind}: mean ${mean} of ${n}`);
      const truth = exact.samples[at];
      if (truth?.estimated) tell('standard error', truth.estimated.standardError);
    });
    if (exact.test) tell('F', exact.test.f);
    if (exact.test) tell('p of F', exact.test.p);
    if (exact.spread) tell('residual deviation', exact.spread.residual);
    if (exact.verdict) {
      tell('share of squares by marks', exact.verdict.marks);
      tell('share of squares by ranks', exact.verdict.ranks);
    }
    exact.pairs.forEach(({ pTukey }) => tell('Tukey p', pTukey));
  }
  byOrdersDrawn(part, whole, found);
  if (part.kind === 'ranking' && whole?.kind === 'ranking' && !part.sign) {
    if (whole.test) tell('p of ranks', whole.test.pChiSquare);
    if (whole.test?.chiSquare) tell('chi-square', whole.test.chiSquare);
  }
}

/** A test by random orders that stops once enough of them reached it: the orders drawn, where told, are p. */
function byOrdersDrawn(part: PartResult, whole: PartResult | undefined, found: Findings): void {
  if (!whole) return;
  const stopped = drawnTests(whole).filter(({ p, permutations }) =>
    ENOUGH.some((enough) => permutations !== null && Math.abs(p * permutations - enough) < 1e-6),
  );
  const told = new Set(drawnTests(part).map(({ permutations }) => permutations));
  for (const { p, permutations } of stopped) {
    found.tried += 1;
    if (told.has(permutations))
      found.determined.push(`part ${part.part} ${part.kind}: p ${p} by orders drawn`);
  }
}

/** Orders that reach a test of marks, and of a word, before drawing stops. */
const ENOUGH = [1000, 100];

interface DrawnTest {
  p: number;
  permutations: number | null;
}

function drawnTests(part: PartResult): DrawnTest[] {
  const some = (list: (DrawnTest | null)[]): DrawnTest[] => list.filter((one) => one !== null);
  if (part.kind === 'rating') return some(part.attributes.map(({ verdict }) => verdict));
  if (part.kind === 'liking') return some([part.figures.verdict]);
  if (part.kind === 'control') return some([part.figures.verdict, part.verdict]);
  if (part.kind === 'description') return some(part.words.map(({ test }) => test));
  return [];
}

/** Words of one or two: what told words leave of a sum or a mass is theirs. */
function byMasses(part: PartResult, found: Findings): void {
  if (part.kind !== 'description') return;
  part.samples.forEach(({ checked }, place) => {
    found.tried += 1;
    const told = part.words.reduce((sum, { shares }) => sum + (shares[place]?.checked ?? 0), 0);
    if (told !== checked) found.determined.push(`part ${part.part}: sum of words of sample ${place + 1}`);
  });
  const onMap = (part.map?.words ?? []).flatMap(({ key, mass }) => {
    const word = part.words.find(({ id }) => id === key);
    return word && mass > 0 ? [{ mass, checked: word.checked }] : [];
  });
  if (onMap.length === 0) return;
  found.tried += 1;
  const all = onMap.reduce((sum, { mass }) => sum + mass, 0);
  if (Math.abs(all - 1) > 1e-6)
    found.determined.push(`part ${part.part}: masses leave ${(1 - all).toFixed(4)}`);
}

/** How single palates did over repeated trays: nothing told may depend on it, but for the headline's own sum. */
function byPalates(part: PartResult, { input }: PublishableSession, found: Findings): void {
  if (!('replicates' in part) || !part.replicates || part.replicates.perAssessor.length > 0) return;
  found.tried += 1;
  if (part.replicates.designEffect !== null) found.determined.push(`part ${part.part}: design effect`);
  if ('posterior' in part && part.posterior !== null) found.determined.push(`part ${part.part}: posterior`);
  // What answers weigh where each palate always says the same: it follows from how many each gave.
  const answers = Map.groupBy(
    input.trays.filter(
      (tray) => tray.part === part.part && tray.ballots.some((ballot) => ballot.part === part.part),
    ),
    ({ assessor }) => assessor,
  );
  const each = [...answers.values()].map((own) => own.length);
  const once = each.reduce((sum, n) => sum + n, 0) ** 2 / each.reduce((sum, n) => sum + n * n, 0);
  if (Math.abs((part.replicates.effectiveAnswers ?? once) - once) > 1e-9)
    found.determined.push(`part ${part.part}: answers weigh ${part.replicates.effectiveAnswers}`);
}

/** Three to six people leave, and a second version comes out: what do the two tell of them? */
function bySecondVersion(
  session: PublishableSession,
  first: Publication,
  protections: Protections,
  random: RandomSource,
  found: Findings,
): void {
  const people = [...new Set(session.input.trays.map(({ assessor }) => assessor))];
  if (people.length < 8) return;
  const gone = new Set(people.slice(0, 3 + (found.seed % 4)));
  const input = {
    ...session.input,
    trays: session.input.trays.filter(({ assessor }) => !gone.has(assessor)),
  };
  const second = publishedOrNot({ ...session, input, withdrawn: gone.size }, protections, random, first);
  found.second = second ? 'made' : 'refused';
  for (const part of second?.sessions[0]?.parts ?? []) {
    const was = first.sessions[0]?.parts.find((one) => one.part === part.part);
    if (was) bySubtraction(was, part, found);
  }
}

function bySubtraction(was: PartResult, now: PartResult, found: Findings): void {
  const differ = (what: string, people: number, said: readonly number[]): void => {
    if (people === 0) return;
    found.tried += 1;
    if (people < 3) found.determined.push(`versions, part ${now.part}: ${what} of ${people}`);
    else if (said.some((count) => count === people))
      found.determined.push(`versions, part ${now.part}: ${what}, all ${people} alike`);
  };
  if (was.kind === 'description' && now.kind === 'description') {
    for (const word of now.words) {
      const before = was.words.find(({ id }) => id === word.id);
      word.shares.forEach(({ asked, checked }, at) => {
        const share = before?.shares[at];
        if (share) differ(word.word, share.asked - asked, [share.checked - checked]);
      });
    }
  }
  if (was.kind === 'ranking' && now.kind === 'ranking') {
    now.samples.forEach(({ assessors, ranks }, at) => {
      const before = was.samples[at];
      if (!before) return;
      const said = before.ranks.map(({ rank, people }) => {
        const left = ranks.find((one) => one.rank === rank);
        return people - (left?.people ?? 0);
      });
      differ('rank', before.assessors - assessors, ranks.length > 0 ? said : []);
    });
  }
  const lists = (part: PartResult): MarkFigures[] =>
    part.kind === 'rating' ? part.attributes : 'figures' in part ? [part.figures] : [];
  const before = lists(was);
  lists(now).forEach((figures, at) =>
    figures.samples.forEach(({ assessors }, place) => {
      const sample = before[at]?.samples[place];
      if (sample) differ('mark', sample.assessors - assessors, []);
    }),
  );
  if (
    'outcome' in was &&
    'outcome' in now &&
    was.test &&
    now.test &&
    'counted' in was.test &&
    'counted' in now.test
  ) {
    const people = was.test.answers - now.test.answers;
    const counted = was.test.counted - now.test.counted;
    differ('choice', people, [counted, people - counted]);
  }
}
