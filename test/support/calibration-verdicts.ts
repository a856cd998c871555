import { analyseControl } from '@oddglass/shared/analysis/rating/control.ts';
import { analyseDescription } from '@oddglass/shared/analysis/description/description.ts';
import { analyseLiking } from '@oddglass/shared/analysis/rating/liking.ts';
import { analyseRanking } from '@oddglass/shared/analysis/ranking/ranking.ts';
import { analyseRating } from '@oddglass/shared/analysis/rating/rating.ts';
import type { PartInput, ServedTray } from '@oddglass/shared/analysis/common/served.ts';
import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type {
  ControlPart,
  DescriptionPart,
  FlightPart,
  LikingPart,
  RankingPart,
  RatingPart,
  SampleInput,
} from '@oddglass/shared/contracts/part.ts';
import { xoshiro } from '@oddglass/shared/ground/fast-random.ts';
import type { RandomSource } from '@oddglass/shared/ground/random.ts';
import { armId, flight, flightInput, flightTray } from '../analysis/common/flight-input.ts';
import { calibrate, type CalibrationRow } from './calibration.ts';
import type { Panel } from './percepts.ts';

// The promise of a page: of panels without a difference, its headline claims one in at most alpha. Whole parts are analysed as
// pages are made, from trays to the finding. Samples are alike on average; people may each taste them apart.

const ALPHA = 0.05;

interface Cell {
  kind: 'rating' | 'liking' | 'control' | 'ranking' | 'description';
  samples: number;
  people: number;
  trays: number;
  /** Standard deviation of what one person tastes apart in samples that are alike on average; that of a mark is 1. */
  apart: number;
  /** Share of marks at the lowest step, about. */
  floor: number;
  /** Share of cups without an answer. */
  gaps: number;
  /** Arms that stand twice on each tray. */
  twice: number;
  /** Attributes of a rating, words of a description. */
  asked: number;
  /** Cups a person has on a tray; null: all. */
  each: number | null;
  /** Words asked for once more after a while, of a description. */
  late: number;
}

const BASE: Omit<Cell, 'kind'> = {
  samples: 4,
  people: 12,
  trays: 1,
  apart: 0.5,
  floor: 0.35,
  gaps: 0,
  twice: 0,
  asked: 1,
  each: null,
  late: 0,
};

/** One thing after another away from the base, and the corners at which a page once claimed too much. */
const MARK_CELLS: readonly Partial<Cell>[] = [
  {},
  { apart: 0 },
  { apart: 1 },
  { floor: 0 },
  { floor: 0.5 },
  { samples: 2 },
  { samples: 8 },
  { people: 6 },
  { people: 24 },
  { people: 60 },
  { trays: 2 },
  { trays: 3 },
  { gaps: 0.15 },
  { twice: 1 },
  { twice: 4 },
  { people: 6, samples: 8, apart: 1, floor: 0.5 },
  { people: 6, samples: 3, trays: 3, apart: 1, floor: 0.5 },
  { people: 6, twice: 1, apart: 1, floor: 0.5, samples: 3 },
  { people: 24, trays: 3, apart: 1, floor: 0.5, gaps: 0.15 },
  { samples: 8, trays: 2, apart: 1, twice: 1 },
  { samples: 8, each: 4 },
  { samples: 6, each: 3, trays: 2, apart: 1, people: 24 },
];
const NAMED: readonly Partial<Cell>[] = [
  // Ten people, nine steps, 35 % at the floor: where headlines were wrong in 4, 12 and 32 % of panels.
  { people: 10, asked: 10, apart: 0, trays: 1 },
  { people: 10, asked: 10, apart: 0.9, trays: 2 },
  { people: 10, asked: 10, apart: 0.9, trays: 3 },
];
const RANKING_CELLS: readonly Partial<Cell>[] = [
  {},
  { people: 6 },
  { people: 24 },
  { samples: 2 },
  { samples: 8 },
  { trays: 3, apart: 1 },
  { twice: 1, apart: 1 },
  { samples: 8, each: 4 },
  { samples: 6, each: 3, trays: 3, apart: 1 },
];
const DESCRIPTION_CELLS: readonly Partial<Cell>[] = [
  { people: 10, asked: 40 },
  { people: 24, samples: 3, asked: 40 },
  { people: 6, samples: 2, asked: 20 },
  { people: 12, samples: 2, asked: 15, apart: 1 },
  { people: 12, asked: 20, gaps: 0.15 },
  { people: 12, asked: 20, twice: 1 },
  { people: 24, samples: 8, each: 4, asked: 20 },
  { people: 12, samples: 2, asked: 20, late: 4 },
  { people: 10, asked: 20, late: 8, apart: 1 },
];

/** Every cell of the kinds that serve flights, with at most `runs` panels each; dear ones have fewer. */
export function verdictClaims(
  panel: Panel,
  runs: number,
  choose: (setting: string) => boolean = () => true,
): CalibrationRow[] {
  const cells: Cell[] = [
    ...MARK_CELLS.map((change) => ({ kind: 'rating', ...BASE, ...change }) as const),
    ...NAMED.map((change) => ({ kind: 'rating', ...BASE, ...change }) as const),
    ...MARK_CELLS.filter((_change, at) => at % 3 === 0).map(
      (change) => ({ kind: 'liking', ...BASE, ...change }) as const,
    ),
    ...MARK_CELLS.filter(({ each }) => each === undefined).map(
      (change) => ({ kind: 'control', ...BASE, ...change, twice: 0 }) as const,
    ),
    ...RANKING_CELLS.map((change) => ({ kind: 'ranking', ...BASE, ...change }) as const),
    ...DESCRIPTION_CELLS.map((change) => ({ kind: 'description', ...BASE, ...change }) as const),
  ];
  return cells
    .map((cell) => ({ cell, setting: settingOf(cell) }))
    .filter(({ setting }) => choose(setting))
    .map(({ cell, setting }) => {
      const claims = claimsOf(cell);
      return calibrate({
        kind: 'alarm',
        method: 'verdict of the page',
        setting,
        promised: ALPHA,
        exact: true,
        runs,
        once: () => claims(panel),
      });
    });
}

function settingOf({
  kind,
  samples,
  people,
  trays,
  apart,
  floor,
  gaps,
  twice,
  asked,
  each,
  late,
}: Cell): string {
  return [
    `${kind}, ${samples} samples, ${people} people`,
    trays > 1 ? `${trays} trays` : '',
    each === null ? '' : `${each} cups each`,
    kind === 'description' ? `${asked} words` : asked > 1 ? `${asked} attributes` : '',
    `people apart ${apart}`,
    kind === 'ranking' || kind === 'description' ? '' : `floor ${100 * floor} %`,
    gaps > 0 ? `gaps ${100 * gaps} %` : '',
    twice > 0 ? `${twice} twice` : '',
    late > 0 ? `${late} late words` : '',
  ]
    .filter((one) => one !== '')
    .join(', ');
}

/** What is tasted in one cup of a sample, by one person, in one attribute. */
type Taste = (sample: number, attribute: number) => number;

/** One person: what she tastes apart in the samples stays hers over cups and trays. */
function person(panel: Panel, { samples, asked, apart }: Cell): Taste {
  const level = Array.from({ length: asked }, () => 1.2 * panel.normal());
  const spread = Math.exp(0.3 * panel.normal());
  const own = Array.from({ length: samples * asked }, () => apart * panel.normal());
  return (sample, attribute) =>
    (level[attribute] ?? 0) + (own[sample * asked + attribute] ?? 0) + spread * panel.normal();
}

/** The level at which about the wanted share of marks falls on the lowest step. */
function levelFor(floor: number, apart: number): number {
  if (floor === 0) return 5;
  const deviation = Math.sqrt(1.44 + apart ** 2 + 1.2);
  return 1.5 + (floor < 0.5 ? 0.385 : 0) * deviation;
}

const marked = (value: number, least: number, most: number): number =>
  Math.min(most, Math.max(least, Math.round(value)));

const twiceOf = ({ twice }: Cell): SampleInput[] =>
  Array.from({ length: twice }, (_one, at) => ({ armId: armId(at), role: 'duplicate', spike: null }));

/** Plays one panel of the cell and says whether its page claims a difference. */
function claimsOf(cell: Cell): (panel: Panel) => boolean {
  const { kind, people, trays, floor, apart, gaps } = cell;
  const base = {
    ...flight(cell.samples, twiceOf(cell)),
    replicates: trays,
    cupsEach: cell.each,
    alpha: ALPHA,
  };
  const names = Array.from({ length: cell.asked }, (_one, at) => `a${at}`);
  const level = levelFor(floor, apart);
  const played = <P extends FlightPart>(
    panel: Panel,
    part: P,
    answers: (taste: Taste, served: readonly number[]) => (Answer | null)[],
  ): PartInput<P> => {
    const rows = Array.from({ length: people }, (_one, who) => {
      const taste = person(panel, cell);
      return Array.from({ length: trays }, (_tray, tray) =>
        servedTray(panel, cell, part, `p${who}`, tray, (served) => answers(taste, served)),
      );
    });
    return flightInput(part, rows.flat(), { random: () => randomOf(panel) });
  };
  const gap = (panel: Panel, answer: Answer): Answer | null => (panel.uniform() < gaps ? null : answer);
  switch (kind) {
    case 'rating': {
      const part: RatingPart = {
        kind,
        ...base,
        attributes: names.map((name) => ({ id: name, name, low: 'none', high: 'much' })),
        scale: 'nine-point',
        by: 'sample',
        returning: true,
      };
      return (panel) =>
        analyseRating(
          played(panel, part, (taste, served) =>
            served.map((sample, at) =>
              gap(panel, {
                kind,
                marks: names.map((attributeId, attribute) => ({
                  code: String(101 + at),
                  attributeId,
                  value: marked(level + taste(sample, attribute), 1, 9),
                })),
              }),
            ),
          ),
        ).attributes.some(({ shown }) => shown);
    }
    case 'liking': {
      const part: LikingPart = { kind, ...base };
      return (panel) =>
        analyseLiking(
          played(panel, part, (taste, served) =>
            served.map((sample) => gap(panel, { kind, value: marked(10 - level - taste(sample, 0), 1, 9) })),
          ),
        ).figures.shown;
    }
    case 'control':
      return (panel) => controlClaims(panel, cell, level);
    case 'ranking': {
      const part: RankingPart = { kind, ...base, attribute: 'sour' };
      return (panel) =>
        analyseRanking(
          played(panel, part, (taste, served) => {
            const values = served.map((sample) => taste(sample, 0));
            const order = served.map((_sample, at) => at).sort((a, b) => (values[a] ?? 0) - (values[b] ?? 0));
            return [{ kind, order: order.map((at) => String(101 + at)) }];
          }),
        ).test?.shown === true;
    }
    case 'description':
      return (panel) =>
        descriptionClaims(panel, cell, names, (part, answers) => played(panel, part, answers));
  }
}

/** Words of a cup at first and, where the cell asks for it, some of them once more, tasted anew. */
function descriptionClaims(
  panel: Panel,
  cell: Cell,
  names: readonly string[],
  played: (
    part: DescriptionPart,
    answers: (taste: Taste, served: readonly number[]) => (Answer | null)[],
  ) => PartInput<DescriptionPart>,
): boolean {
  const asked = names.slice(0, cell.late);
  const part: DescriptionPart = {
    kind: 'description',
    ...flight(cell.samples, twiceOf(cell)),
    replicates: cell.trays,
    cupsEach: cell.each,
    alpha: ALPHA,
    words: [...names],
    intensity: false,
    ...(asked.length > 0 && { late: { words: [...asked], seconds: 60 } }),
  };
  const words = new Map(names.map((id) => [id, { word: id, family: 'invented' }]));
  // Words from rare to common; a person has a habit with each.
  const rarity = names.map((_name, at) => 0.2 + (2.6 * at) / names.length);
  const said = (among: readonly string[], taste: Taste, sample: number): string[] =>
    among.filter((_name, at) => taste(sample, at) > (rarity[at] ?? 1));
  const later: (Answer | null)[] = [];
  const input = played(part, (taste, served) =>
    served.map((sample) => {
      const first = said(names, taste, sample);
      const then = said(asked, taste, sample);
      const skipped = panel.uniform() < cell.gaps;
      later.push(skipped ? null : { kind: 'late', words: then, none: then.length === 0 });
      return skipped
        ? null
        : {
            kind: 'description',
            words: first.map((id) => ({ id, intensity: null })),
            ownWords: [],
            none: first.length === 0,
          };
    }),
  );
  const trays =
    asked.length === 0
      ? input.trays
      : input.trays.map((tray) => ({
          ...tray,
          sheets: tray.sheets.flatMap((sheet, at) => [
            { ...sheet, sheet: 2 * at + 1 },
            { ...sheet, sheet: 2 * at + 2, answer: later.shift() ?? null },
          ]),
        }));
  const { words: found, profile, late } = analyseDescription({ ...input, trays, words });
  return (
    profile?.shown === true || [...found, ...(late?.words ?? [])].some(({ test }) => test?.differs === true)
  );
}

function servedTray(
  panel: Panel,
  { each }: Cell,
  part: FlightPart,
  assessor: string,
  tray: number,
  answers: (served: readonly number[]) => (Answer | null)[],
): ServedTray {
  const places = part.samples.map((_sample, place) => place);
  const order = places
    .map((place) => ({ place, at: panel.uniform() }))
    .sort((a, b) => a.at - b.at)
    .map(({ place }) => place)
    .slice(0, each ?? places.length);
  // A hidden duplicate is tasted as its arm.
  const armOf = (place: number): number =>
    part.samples.findIndex(({ armId: arm }) => arm === part.samples[place]?.armId);
  const made = flightTray(part, assessor, order, answers(order.map(armOf)), tray + 1);
  const attributeIds = part.kind === 'rating' ? part.attributes.map(({ id }) => id) : [];
  return { ...made, sheets: made.sheets.map((sheet) => ({ ...sheet, attributeIds })) };
}

/** Degrees of difference: the hidden control is one more cup, tasted like the others. */
function controlClaims(panel: Panel, cell: Cell, level: number): boolean {
  const { samples, people, trays, gaps } = cell;
  const part: ControlPart = {
    kind: 'control',
    ...flight(samples - 1),
    replicates: trays,
    alpha: ALPHA,
    controlArmId: armId(samples - 1),
    degrees: ['none', 'very slight', 'slight', 'moderate', 'large', 'very large'],
  };
  const control = { sample: 's0', armId: part.controlArmId };
  const rows = Array.from({ length: people }, (_one, who) => {
    const taste = person(panel, cell);
    const degree = (sample: number): Answer | null =>
      panel.uniform() < gaps
        ? null
        : { kind: 'control', degree: marked(level - 1.5 + taste(sample, 0), 0, 5) };
    return Array.from({ length: trays }, (_tray, tray): ServedTray => {
      const served = servedTray(panel, { ...cell, each: null }, part, `p${who}`, tray, (order) =>
        order.map(degree),
      );
      return {
        ...served,
        cups: [
          { code: '901', position: 0, mark: 'control', ...control },
          { code: '902', position: 99, mark: null, ...control },
          ...served.cups,
        ],
        sheets: [
          ...served.sheets,
          { sheet: 99, codes: ['902'], attributeIds: [], answer: degree(samples - 1), comment: '' },
        ],
      };
    });
  });
  const input = flightInput(part, rows.flat(), { random: () => randomOf(panel) });
  const hidden = { role: 'sample' as const, spike: null, control: true };
  const { finding } = analyseControl({
    ...input,
    samples: [
      { key: 's0', armId: part.controlArmId, name: 'Control (hidden control)', ...hidden },
      ...input.samples,
    ],
  });
  return /\bdiffers? from the control\./.test(finding.headline);
}

/** Resampling starts from the panel's own numbers, so that a seed gives the same report. */
export function randomOf(panel: Panel): RandomSource {
  const next = xoshiro(
    [panel.uniform(), panel.uniform(), 1, 2].map((one) => Math.floor(one * 2 ** 32)) as never,
  );
  return {
    bytes: (count) => Uint8Array.from({ length: count }, () => next() & 255),
  };
}
