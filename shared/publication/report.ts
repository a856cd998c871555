import { z } from 'zod';
import type { Publication, PublishedSession } from '../contracts/publication.ts';
import type { FailedPart, PartResult } from '../contracts/result.ts';
import { listed, people } from '../ground/phrases.ts';
import { choiceOf, isFlightKind, kindOf } from '../kinds/kinds.ts';
import { departuresOf, standardOf } from './report-standards.ts';

// What the test reports of the standards ask for, item by item: told, or said to be unknown. No conformity is claimed.

export const NOT_RECORDED = 'not recorded';
/** It may have been written down, and this publication says nothing of it. */
export const NOT_TOLD = 'not told';

export const REPORT_ITEMS = [
  'purpose',
  'samples',
  'preparation',
  'storage',
  'date',
  'assessors',
  'experience',
  'place',
  'light',
  'temperature',
  'cup',
  'test',
  'trays',
  'instructions',
  'presentation',
  'retasting',
  'risks',
  'size tested',
  'result',
  'statement',
  'departures',
  'reference',
] as const;
export type ReportItemName = (typeof REPORT_ITEMS)[number];
/** Items that each part has of its own. */
const PART_ITEMS = REPORT_ITEMS.slice(REPORT_ITEMS.indexOf('test'));

export interface ReportItem {
  /** Null: holds for the publication as a whole. */
  session: number | null;
  /** Null: holds for all parts of the session. */
  part: number | null;
  kind: string | null;
  item: ReportItemName;
  /** In words; `NOT_RECORDED` or `NOT_TOLD` where it is unknown to a reader. */
  value: string;
  /** Where it is from, or why it is unknown. */
  source: string;
}

type Told = readonly [item: ReportItemName, value: string | null, source: string];
const ASKED_BY_NOBODY = 'no field for it here';

/**
 * Every item for every test, in the order of a report: those of the publication, then each session with its parts.
 * Nothing in it that the publication does not tell elsewhere.
 */
export function reportOf(publication: Publication): ReportItem[] {
  const rows = (told: readonly Told[], place: Pick<ReportItem, 'session' | 'part' | 'kind'>): ReportItem[] =>
    told.map(([item, value, source]) => ({ ...place, item, value: value ?? NOT_RECORDED, source }));
  return [
    ...rows(aboutTrial(publication), { session: null, part: null, kind: null }),
    ...publication.sessions.flatMap((session) => [
      ...rows(aboutSession(session), { session: session.number, part: null, kind: null }),
      ...session.parts.flatMap((part) =>
        rows(aboutPart(publication, session, part), {
          session: session.number,
          part: part.part,
          kind: part.kind,
        }),
      ),
      ...(session.withheld ?? []).flatMap((part) =>
        rows(aboutWithheld(part), { session: session.number, part: part.part, kind: part.kind }),
      ),
    ]),
  ];
}

function aboutTrial({ question, factor, arms, record }: Publication): Told[] {
  const made = record && [
    ...record.base.map(({ label }) => label),
    ...record.making.map(({ label }) => label),
  ];
  return [
    ['purpose', `${question} Factor: ${factor}.`, 'as it was sealed'],
    ['samples', arms.map(({ name, differs }) => `${name}: ${differs}`).join('; '), 'arms.csv'],
    made && made.length > 0
      ? ['preparation', `Told of: ${listed([...new Set(made)])}.`, 'making.csv']
      : record
        ? ['preparation', null, 'nothing stands in the record']
        : ['preparation', NOT_TOLD, 'the record is not part of this publication'],
    ['storage', null, ASKED_BY_NOBODY],
  ];
}

/** What the settings leaf fixed of all trays. */
const sealed = z.object({ cupMl: z.number().optional(), restSeconds: z.number().optional() });

/** How it was served, where a publication tells it. */
function aboutSession(session: PublishedSession): Told[] {
  const { seated, assessors, withdrawn, heldIn, seal } = session;
  const { cupMl } = sealed.parse(seal.leaves.find(({ kind }) => kind === 'settings')?.body ?? {});
  const served = session.serving;
  const unmeasured = session.parts.some(({ caveats }) =>
    caveats.some(({ from, text }) => from === 'serving' && text.startsWith('Nobody measured how warm')),
  );
  const temperatureC = served?.temperatureC;
  const degrees = temperatureC ?? null;
  return [
    ['date', `${heldIn}; the day is not told, so that nobody is found by it`, 'sessions.csv'],
    [
      'assessors',
      `${people(seated)} sat down, ${people(assessors)} answered${withdrawn > 0 ? `, ${people(withdrawn)} took their answers back` : ''}`,
      'sessions.csv',
    ],
    ['experience', null, ASKED_BY_NOBODY],
    ['place', null, ASKED_BY_NOBODY],
    served === undefined
      ? ['light', NOT_TOLD, 'this publication says nothing of it']
      : [
          'light',
          served.masking ? 'seats started in masking light' : 'no masking light was set',
          'settings of the session',
        ],
    degrees === null
      ? unmeasured || temperatureC === null
        ? ['temperature', null, 'nobody measured it']
        : ['temperature', NOT_TOLD, 'this publication says nothing of it']
      : ['temperature', `${degrees} °C in the cup`, 'noted by whoever poured'],
    cupMl === undefined
      ? ['cup', null, ASKED_BY_NOBODY]
      : ['cup', `${cupMl} mL in each; kind of cup ${NOT_RECORDED}`, 'settings leaf in seal.csv'],
  ];
}

function aboutPart(publication: Publication, session: PublishedSession, part: PartResult): Told[] {
  const { served, finding } = part;
  const standard = standardOf(part.kind);
  const each = 'replicates' in part.settings ? part.settings.replicates : 1;
  return [
    ['test', kindOf(part).names.heading, 'settings leaf in seal.csv'],
    [
      'trays',
      `${each} for each person; ${served.answers} sheets answered by ${people(served.assessors)}, ${served.unanswered} left open`,
      'result.json, served',
    ],
    [
      'instructions',
      `On the screen: ${askedOf(publication, part)} What was said aloud: ${NOT_RECORDED}.`,
      'settings leaf in seal.csv',
    ],
    [
      'presentation',
      'The screen leads through the cups of a tray from left to right. Whether they were brought together or one by one: ' +
        `${NOT_RECORDED}.`,
      'the software',
    ],
    ['retasting', retasting(part), 'settings and the software'],
    ['risks', risksOf(part), 'settings leaf in seal.csv'],
    ['size tested', sizeOf(part), 'settings leaf in seal.csv'],
    ['result', finding.lede || null, 'result.json, finding'],
    ['statement', finding.headline || null, 'result.json, finding'],
    ['departures', departuresOf(session, part), 'from what is told here; conformity was not examined'],
    ['reference', standard, 'titles from memory'],
  ];
}

/** Of a part whose figures would tell answers the finding of the reveal alone is told. */
function aboutWithheld({ headline, lede }: FailedPart): Told[] {
  const told: Partial<Record<ReportItemName, string>> = { result: lede, statement: headline };
  return PART_ITEMS.map((item) =>
    told[item]
      ? [item, told[item], 'as found at the reveal']
      : [item, NOT_TOLD, 'the part is withheld, so that nobody’s answers can be worked out'],
  );
}

function askedOf({ arms }: Publication, part: PartResult): string {
  if (!isFlightKind(part)) {
    const nameOf = (id: string): string => arms.find((arm) => arm.id === id)?.name ?? 'an arm';
    return choiceOf(part.settings).published(part.settings, listed(part.settings.armIds.map(nameOf)), nameOf);
  }
  switch (part.kind) {
    case 'rating':
      return `how much of ${listed(part.settings.attributes.map(({ name }) => name))}, ${part.settings.by === 'sample' ? 'cup by cup' : 'attribute by attribute'}.`;
    case 'description':
      return 'which of the words offered fit each cup.';
    case 'ranking':
      return `put the cups in order from least to most ${part.settings.attribute}.`;
    case 'control':
      return 'how different each cup is from the marked control.';
    case 'liking':
      return 'how well each cup is liked, from 1 to 9.';
  }
}

/** A sheet that was sent is not shown again; what people did with a cup before is seen by nobody. */
function retasting(part: PartResult): string {
  const back =
    part.kind === 'rating'
      ? ` Going back to other cups before that was ${part.settings.returning ? '' : 'not '}offered.`
      : '';
  return `No answer could be changed once it was sent.${back} Whether cups were tasted again before: ${NOT_RECORDED}.`;
}

function risksOf({ settings }: PartResult): string {
  return 'beta' in settings ? `alpha ${settings.alpha}, beta ${settings.beta}` : `alpha ${settings.alpha}`;
}

function sizeOf({ settings }: PartResult): string {
  if (!('meaningfulShare' in settings)) return 'none was fixed beforehand';
  const { aim, meaningfulShare } = settings;
  return `aim: ${aim}; share of discriminators that would matter: ${meaningfulShare}`;
}
