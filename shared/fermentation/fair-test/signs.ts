import type { FairTestFinding, NotedSign, Sign } from '../../contracts/fair-test.ts';
import type { ArmMaking, Organism } from '../../contracts/making.ts';
import type { ArmToCompare } from './compare.ts';
import { CLOSURE_WORDS } from './fields.ts';

/** What a sign usually means, and when it says that the arm is not what it is taken for. */
interface SignMeaning {
  /** As a host chooses it. */
  label: string;
  /** What it usually comes from. */
  usually: string;
  source: string;
  /** Organisms of which one would make it; where others are told and none of these, another one is probably in there. */
  madeBy: readonly Organism[] | null;
  /** How sure that is: foam needs gas within a day, a film or a note may have other causes. */
  strange: 'probably' | 'may';
  /** Air makes it, so that what closes the vessel bears on it. */
  byAir?: true;
}

const COMMON = 'common practice, no source';

/** The catalogue, in the order in which a form offers it. */
export const SIGNS: Readonly<Record<Sign, SignMeaning>> = {
  'foam-early': {
    label: 'foam or strong gas within a day',
    usually:
      'Yeast, or lactic acid bacteria of the kind that makes gas; those of the other kind, and acetic acid bacteria, make none.',
    source: `${COMMON}; kinds of lactic acid bacteria: textbook knowledge, from memory`,
    madeBy: ['yeast', 'brettanomyces', 'mixed'],
    strange: 'probably',
  },
  film: {
    label: 'a film or skin on top',
    usually: 'Yeasts or bacteria that grow where air comes in.',
    source:
      'De Roos & De Vuyst 2018, Front. Microbiol. 9:2763, for acetic acid bacteria; else common practice, no source',
    madeBy: ['brettanomyces', 'acetic-bacteria', 'mixed'],
    strange: 'may',
    byAir: true,
  },
  rope: {
    label: 'it pours like oil, or in ropes',
    usually:
      'Long sugars that some lactic acid bacteria (Pediococcus) make, and some acetic acid bacteria; it often goes by itself within months.',
    source: 'Walling et al. 2005, Food Microbiol. 22:71 (read of, not read)',
    madeBy: ['lactic-bacteria', 'acetic-bacteria', 'mixed'],
    strange: 'may',
  },
  stale: {
    label: 'stale, like paper or cardboard',
    usually: 'Air: through the closure, while filling, or over time.',
    source: COMMON,
    madeBy: null,
    strange: 'may',
    byAir: true,
  },
  vinegar: {
    label: 'a vinegary note nobody wanted',
    usually: 'Acetic acid bacteria or Brettanomyces with air.',
    source: 'De Roos & De Vuyst 2018, Front. Microbiol. 9:2763',
    madeBy: ['brettanomyces', 'acetic-bacteria', 'mixed'],
    strange: 'may',
    byAir: true,
  },
  sulphur: {
    label: 'sulphur, like struck matches or eggs',
    usually: 'Yeast under stress; it often goes with time.',
    source: COMMON,
    madeBy: null,
    strange: 'may',
  },
  leak: {
    label: 'the vessel leaked or lost its airlock',
    usually: 'Air came in, and liquid may be less than noted.',
    source: COMMON,
    madeBy: null,
    strange: 'may',
  },
  'too-warm': {
    label: 'it stood warmer than planned for hours or days',
    usually: 'More esters and higher alcohols, and a faster course.',
    source: COMMON,
    madeBy: null,
    strange: 'may',
  },
  'too-cold': {
    label: 'it stood colder than planned for hours or days',
    usually: 'A slower course; the arm may lag behind the others at the same pull.',
    source: COMMON,
    madeBy: null,
    strange: 'may',
  },
  mould: {
    label: 'mould, or a growth nobody can name',
    usually: 'Not to be tasted at all: note it under what the arm is like today as well.',
    source: COMMON,
    madeBy: null,
    strange: 'may',
  },
};

/** One reading of an arm; what was not read is null. */
export interface ReadingOfArm {
  at: string;
  ph: number | null;
  /** Specific gravity. */
  gravity: number | null;
}

export interface ArmWithSigns extends ArmToCompare {
  signs: readonly NotedSign[];
  readings: readonly ReadingOfArm[];
}

const DAY_MS = 86_400_000;
// Less than this lies within what hydrometers and meters of a kitchen disagree by. Our own bounds; no source.
const GRAVITY_FELL = 0.004;
const PH_STOOD = 0.05;
const STOOD_DAYS = 3;
const FERMENTING: readonly Organism[] = ['yeast', 'brettanomyces', 'mixed'];

/** What the signs of an arm say, those noted and those that its readings show. Never throws. Source: `SIGNS`. */
export function signsOfArm(arm: ArmWithSigns): FairTestFinding[] {
  return [...notedSigns(arm), ...signsOfReadings(arm)];
}

function notedSigns({ id, name, making, signs }: ArmWithSigns): FairTestFinding[] {
  return Object.entries(SIGNS).flatMap(
    ([which, { label, usually, source, madeBy, strange: sure, byAir }]) => {
      const noted = signs.filter(({ sign }) => sign === which).map(({ on }) => on);
      const [first] = [...noted].sort();
      if (first === undefined) return [];
      const strange = madeBy !== null && isToldWithout(making.organisms, madeBy);
      const carries = sure === 'probably' ? 'probably carries' : 'may carry';
      const air = byAir ? airOf(making) : '';
      return {
        id: `sign ${which} ${id}`,
        kind: 'sign' as const,
        arms: [id],
        says: `${name}: ${label}, noted for ${first}.`,
        matters: [
          usually,
          strange
            ? `What was pitched here does not usually make it: the arm ${carries} something else as well.`
            : '',
          air,
        ]
          .filter(Boolean)
          .join(' '),
        source,
        undoes: strange
          ? `${name} ${carries} something that was not pitched (${label}): what people tasted may not be the factor.`
          : null,
        grounds: noted.map((on) => `${id} ${which} ${on}${air === '' ? '' : ` ${making.closure}`}`),
      };
    },
  );
}

/** What the closure says to a sign that air makes. */
function airOf({ closure }: ArmMaking): string {
  if (closure === 'open' || closure === 'porous')
    return `Its closure (${CLOSURE_WORDS[closure]}) may explain it without the factor.`;
  return closure === null ? 'What closed the vessel is not told.' : '';
}

function signsOfReadings({ id, name, making, readings }: ArmWithSigns): FairTestFinding[] {
  const findings: FairTestFinding[] = [];
  const ordered = [...readings].sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
  const gravities = ordered.filter(({ gravity }) => gravity !== null);
  const [from, to] = [gravities[0], gravities.at(-1)];
  const fell = (from?.gravity ?? 0) - (to?.gravity ?? 0);
  if (from && to && fell >= GRAVITY_FELL && isToldWithout(making.organisms, FERMENTING)) {
    const figures = `from ${(from.gravity ?? 0).toFixed(3)} to ${(to.gravity ?? 0).toFixed(3)}`;
    findings.push({
      id: `sign gravity-fell ${id}`,
      kind: 'sign',
      arms: [id],
      says: `${name}: gravity fell ${figures}, though nothing was pitched that ferments sugar to alcohol.`,
      matters:
        'Lactic and acetic acid bacteria alone lower the gravity little: probably a yeast is at work as well.',
      source: COMMON,
      undoes: `${name} probably carries a yeast that was not pitched (gravity fell ${figures}): what people tasted may not be the factor.`,
      grounds: [`${id} ${figures}`],
    });
  }
  const acids = ordered.filter(({ ph }) => ph !== null);
  const [early, late] = [acids[0], acids.at(-1)];
  const days = early && late ? (Date.parse(late.at) - Date.parse(early.at)) / DAY_MS : 0;
  const values = acids.map(({ ph }) => ph ?? 0);
  if (
    making.organisms.includes('lactic-bacteria') &&
    days >= STOOD_DAYS &&
    Math.max(...values) - Math.min(...values) <= PH_STOOD
  ) {
    const figures = `at ${values[0]?.toFixed(2)} over ${Math.floor(days)} days`;
    findings.push({
      id: `sign ph-stood ${id}`,
      kind: 'sign',
      arms: [id],
      says: `${name}: pH stood still ${figures}, though lactic acid bacteria were pitched.`,
      matters:
        'A live culture lowers the pH within days: this one may be dead, too cold, or kept down by hops. The meter may need calibrating.',
      source: COMMON,
      undoes: null,
      grounds: [`${id} ${figures}`],
    });
  }
  return findings;
}

/** Somebody told what is in there, and it is none of these. */
function isToldWithout(organisms: readonly Organism[], madeBy: readonly Organism[]): boolean {
  return organisms.length > 0 && !organisms.some((one) => madeBy.includes(one));
}
