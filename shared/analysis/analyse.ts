import { sha256 } from '@noble/hashes/sha2.js';
import { utf8ToBytes } from '@noble/hashes/utils.js';
import type { Answer, Swallowing } from '../contracts/ballot.ts';
import type { Part } from '../contracts/part.ts';
import { partResult, type FailedPart, type PartResult, type ResultDocument } from '../contracts/result.ts';
import type { SiteComparison } from '../contracts/result-sites.ts';
import { agreementResult } from '../contracts/result-agreement.ts';
import type { Caveat, SampleFacts, SessionFacts } from '../contracts/result-common.ts';
import type { SessionSettings } from '../contracts/session.ts';
import type { TableAllergens } from '../rules/allergens.ts';
import { seededRandom } from '../ground/random.ts';
import { isDifferenceKind } from '../kinds/kinds.ts';
import { cupsIndex, sheetsOfTray } from '../rules/parts.ts';
import { analyseAgreement, type Shows } from './agreement/agreement.ts';
import { analyseChoice } from './choice/choice.ts';
import { analyseControl } from './rating/control.ts';
import type { LikingMark } from './description/beside.ts';
import { analyseDescription } from './description/description.ts';
import { analyseLiking } from './rating/liking.ts';
import { analysePreference } from './choice/preference.ts';
import { plainCaveat } from './common/caveats.ts';
import { fairTestOfPart, sayFirst } from './common/fair-test.ts';
import type { FairTestInput } from '../fermentation/fair-test/check.ts';
import type { NotedDeviation } from './common/deviations.ts';
import { presentable, type Gap } from './common/presentable.ts';
import { analyseRanking } from './ranking/ranking.ts';
import { analyseRating } from './rating/rating.ts';
import { comparePlaces } from './sites/sites.ts';
import { analyseSameDifferent } from './same-different/same-different.ts';
import type { PartInput, ServedCup, ServedTray, SpikedPart, Unanalysed } from './common/served.ts';
import { capital, inWords, listed } from '../ground/phrases.ts';

/** A tray as it was served and answered, with all ballots on it. */
export interface AnsweredTray {
  /** A label that is the same for all trays of one person, and says nothing else. */
  assessor: string;
  /** The part it was poured for, from 1, and how often the person has had such a tray. */
  part: number;
  replicate: number;
  cups: ServedCup[];
  ballots: { part: number; sheet: number; answer: Answer; comment: string }[];
  /** What became of its cups; left out: not told. */
  swallowing?: Swallowing;
  /** The place at which it was served, from 1; left out where there was one. */
  site?: number;
}

/** All a result stands on, as plain data: it may be handed to another thread, or kept beside a publication. */
export interface SessionInput {
  session: SessionFacts;
  settings: SessionSettings;
  /** Samples of each part with cups of its own, in the order of the plan. */
  samples: (SampleFacts & { part: number })[];
  /** Trays of the seats that were taken, in any order. */
  trays: AnsweredTray[];
  deviations: NotedDeviation[];
  /** What the trial has of how its arms were made; left out: not looked at. */
  fairTest?: FairTestInput;
  /** How the dilution of spiked samples was checked, by the part they were poured for; nobody's name. Left out: not told. */
  dilutions?: SpikedPart[];
  /** Poured parts of which readers are not told how many swallowed and how many spat. */
  swallowingWithheld?: number[];
  /** What readers are not told, so that no figure is made of it; left out in what the panel itself sees. */
  unanalysed?: Unanalysed;
  /** What stood on the table, united; left out: not told. */
  allergens?: TableAllergens;
  /** Words that were offered or chosen: id, word, family. */
  words: [string, { word: string; family: string }][];
}

/**
 * From plan, key and answers to the result document: one result for each part, in order, and what the panel agrees on.
 * Pure: the same input gives the same document, resampling included, since its random numbers start from the seal's root.
 * A tasting cannot be repeated, so whatever can be said is said: a part that cannot be worked out stands under `failed`, a
 * figure that cannot be computed becomes null with a caveat in its part, and both are reported to `report`.
 */
export function analyseSession(
  input: SessionInput,
  report: (gap: Gap) => void = () => undefined,
): ResultDocument {
  const inputs = partInputs(input);
  const made: ResultDocument = {
    format: 'oddglass-result-2',
    session: input.session,
    parts: [],
    failed: [],
    agreement: null,
  };
  for (const one of inputs) {
    const { number } = one;
    const worked = attempt(number, () => analysePart(one, inputs), report);
    const told = worked && presentable(partResult, worked);
    told?.gaps.forEach((gap) => report({ part: number, ...gap }));
    if (told?.value) {
      const finding = sayFirst(told.value.finding, one.fairTest ?? []);
      made.parts.push({ ...withGaps(told.value, told.gaps), finding } as PartResult);
    } else made.failed.push(failed(one));
  }
  const agreement = attempt(null, () => analyseAgreement(inputs, showsOf(made.parts)), report);
  const told = agreement && presentable(agreementResult, agreement);
  told?.gaps.forEach((gap) => report({ part: null, ...gap }));
  made.agreement = told?.value ? withGaps(told.value, told.gaps) : null;
  const bySite = attempt(null, () => placesOf(input, inputs), report);
  return bySite ? { ...made, bySite } : made;
}

/** Parts place by place; null at one place. */
function placesOf({ session, trays }: SessionInput, inputs: readonly PartInput[]): SiteComparison[] | null {
  const places = session.sites?.length ?? 0;
  const siteOf = new Map(
    trays.flatMap(({ assessor, site }) => (site === undefined ? [] : [[assessor, site]])),
  );
  if (places === 0 || siteOf.size === 0) return null;
  return inputs.map((one) => comparePlaces(one, siteOf, places));
}

function attempt<T>(part: number | null, work: () => T, report: (gap: Gap) => void): T | null {
  try {
    return work();
  } catch (reason) {
    const told = reason instanceof Error ? (reason.stack ?? reason.message) : String(reason);
    report({ part, figure: '', reason: told });
    return null;
  }
}

function failed({ number, part }: PartInput): FailedPart {
  return {
    part: number,
    kind: part.kind,
    headline: 'This part could not be worked out.',
    lede: 'Its answers are kept and can be downloaded; the log of the server names the reason. What the other parts say is not touched by it.',
  };
}

/** Which findings show a difference, for what leans on them. */
function showsOf(parts: readonly PartResult[]): Shows {
  return (number, about) => {
    const part = parts.find((one) => one.part === number);
    switch (part?.kind) {
      case 'rating':
        return part.attributes.some(({ name, shown }) => name === about && shown);
      case 'ranking':
        return part.test?.shown === true;
      case 'control':
        return part.verdict !== null && part.verdict.p <= part.settings.alpha;
      default:
        return false;
    }
  };
}

function withGaps<T extends { caveats: Caveat[] }>(told: T, gaps: readonly { figure: string }[]): T {
  if (gaps.length === 0) return told;
  const which = listed(gaps.map(({ figure }) => figure));
  const text =
    gaps.length === 1
      ? `One figure could not be computed and is left out (${which}).`
      : `${capital(inWords(gaps.length))} figures could not be computed and are left out (${which}).`;
  return { ...told, caveats: [...told.caveats, plainCaveat('computation', text)] };
}

/** What each part stands on, in order. */
export function partInputs(input: SessionInput): PartInput[] {
  return input.settings.parts.map((part, index) => partInput(input, part, index));
}

function partInput(input: SessionInput, part: Part, index: number): PartInput {
  const { session, settings, samples, deviations } = input;
  const number = index + 1;
  const base = cupsIndex(settings.parts, index) + 1;
  return {
    session,
    settings,
    number,
    part,
    samples: samples.filter((sample) => sample.part === base),
    trays: input.trays.filter((tray) => tray.part === base).map((tray) => servedTray(tray, settings, number)),
    deviations,
    fairTest: fairTestOfPart(input, number),
    dilutions: (input.dilutions ?? [])
      .filter(({ part: poured }) => poured === base)
      .map(({ check }) => check),
    ...(input.swallowingWithheld?.includes(base) && { swallowingWithheld: true as const }),
    ...(input.unanalysed && {
      unanalysed: {
        palates: input.unanalysed.palates.includes(number),
        words: new Set(input.unanalysed.words.filter((one) => one.part === number).flatMap(({ ids }) => ids)),
      },
    }),
    words: new Map(input.words),
    kinds: settings.parts.map(({ kind }) => kind),
    random: (purpose) => seededRandom(sha256(utf8ToBytes(`${session.root} part ${number} ${purpose}`))),
  };
}

function servedTray(tray: AnsweredTray, settings: SessionSettings, part: number): ServedTray {
  const asked = sheetsOfTray(settings.parts, { part: tray.part, servings: tray.cups });
  return {
    assessor: tray.assessor,
    replicate: tray.replicate,
    cups: tray.cups,
    ...(tray.swallowing && { swallowing: tray.swallowing }),
    sheets: asked
      .filter((sheet) => sheet.part === part)
      .map(({ sheet, codes, attributeIds }) => {
        const ballot = tray.ballots.find((one) => one.part === part && one.sheet === sheet);
        return {
          sheet,
          codes,
          attributeIds,
          answer: ballot?.answer ?? null,
          comment: ballot?.comment ?? '',
        };
      }),
  };
}

/** The same input, seen as that of its part's kind. */
function as<K extends Part['kind']>(input: PartInput, part: Extract<Part, { kind: K }>) {
  return { ...input, part };
}

function analysePart(input: PartInput, all: readonly PartInput[]): PartResult {
  const { part } = input;
  if (isDifferenceKind(part)) return analyseChoice({ ...input, part });
  switch (part.kind) {
    case 'preference':
      return analysePreference(as(input, part));
    case 'same-different':
      return analyseSameDifferent(as(input, part));
    case 'rating':
      return analyseRating(as(input, part));
    case 'control':
      return analyseControl(as(input, part));
    case 'liking':
      return analyseLiking(as(input, part));
    case 'ranking':
      return analyseRanking(as(input, part));
    case 'description':
      return analyseDescription(as(input, part), likingOnSameCups(input, all));
  }
}

/** Liking marks given to the cups that a description was asked about; none when liking was not asked. */
function likingOnSameCups(input: PartInput, all: readonly PartInput[]): LikingMark[] | undefined {
  const parts = all.map(({ part }) => part);
  const base = cupsIndex(parts, input.number - 1);
  const liking = all.find(
    ({ part, number }) => part.kind === 'liking' && cupsIndex(parts, number - 1) === base,
  );
  return liking?.trays.flatMap(({ assessor, replicate, sheets }) =>
    sheets.flatMap(({ codes: [code], answer }) =>
      code === undefined || answer?.kind !== 'liking' || answer.value === null
        ? []
        : [{ assessor, replicate, code, value: answer.value }],
    ),
  );
}
