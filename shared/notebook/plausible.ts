import type { QuestionName, ReadingValues, TypedValues } from '../contracts/reading.ts';
import { readingValues, type ReadingField } from '../fermentation/reading-values.ts';
import { typedNumber } from '../fermentation/typed-number.ts';

/** Another way to read what was typed. */
export interface Offer {
  /** 'pH 4.3' */
  words: string;
  /** What the fields hold if it was meant. */
  typed: TypedValues;
}

/** A value that seems odd. It is asked about, never refused. */
export interface Question {
  question: QuestionName;
  field: ReadingField | 'takenAt';
  /** One or two sentences that say what seems odd. */
  asked: string;
  offer: Offer | null;
}

/** What is known beside the reading. */
export interface Beside {
  /** The last values of this arm at an earlier pull. */
  before: Pick<ReadingValues, 'ph' | 'gravity'> | null;
  /** Liquid left of the arm, mL; null: not known. */
  leftMl: number | null;
  takenAt: string;
  now: string;
  /** How the reader writes decimals. */
  decimal: '.' | ',';
}

// Bounds of our own (no source): wide enough for wort, beer, cider, mead, kombucha and kvass, and for what goes wrong with them.
const PH = [2.5, 7.5] as const;
const GRAVITY = [0.98, 1.18] as const;
const CELSIUS = [-2, 45] as const;
/** Rises of a gravity up to this are noise of a hydrometer's scale, which is ruled by 0.001 or 0.002. */
const GRAVITY_NOISE = 0.001;
const PH_JUMP = 1;
const METER_DAYS = 7;
const DAY_MS = 86_400_000;
/** Clocks of devices differ by minutes. */
const AHEAD_MS = 10 * 60_000;

const within = (value: number, [least, most]: readonly [number, number]): boolean =>
  value >= least && value <= most;

/**
 * What seems odd about a reading, with the likely meaning of each where there is one: a pH or temperature without its
 * point, a gravity of 1048 or 16.5 as SG, a gravity that rose by more than 0.001, a pH that moved by more than 1, a
 * refractometer without the first reading, more taken than is left, a number that is read in two ways.
 * Every bound is our own; no source. Fields that hold no number ask nothing.
 * Example: `questionsOf({ ph: { text: '43', meterCalibratedOn: null }, gravity: null, temperature: null, taken: null }, { before: null, leftMl: null, takenAt: '2031-03-04T18:00:00Z', now: '2031-03-04T18:00:00Z', decimal: '.' })[0].offer.typed.ph.text` is 4.3
 */
export function questionsOf(typed: TypedValues, beside: Beside): Question[] {
  const { values } = readingValues(typed);
  const say = (value: number, places: number): string =>
    value.toFixed(places).replace('.', beside.decimal === ',' ? ',' : '.');
  return [
    ...aboutPh(typed, values, beside, say),
    ...aboutGravity(typed, values, beside, say),
    ...aboutTemperature(typed, values, say),
    ...aboutTaken(typed, values, beside),
    ...(Date.parse(beside.takenAt) > Date.parse(beside.now) + AHEAD_MS
      ? [ask('taken-in-future', 'takenAt', 'This sample was taken later than now. Is the date right?')]
      : []),
  ];
}

type Say = (value: number, places: number) => string;

const ask = (
  question: QuestionName,
  field: Question['field'],
  asked: string,
  offer: Offer | null = null,
): Question => ({ question, field, asked, offer });

function aboutPh(typed: TypedValues, { ph }: ReadingValues, beside: Beside, say: Say): Question[] {
  if (ph === null || typed.ph === null) return [];
  const found: Question[] = [];
  if (!within(ph, PH)) {
    const meant = [ph / 10, ph / 100].find((value) => within(value, PH));
    const places = meant === undefined ? 0 : Math.min(3, String(Math.trunc(ph)).length - 1);
    found.push(
      ask(
        'ph-outside',
        'ph',
        meant === undefined
          ? `pH ${typed.ph.text} lies outside of what ferments hold, ${say(PH[0], 1)} to ${say(PH[1], 1)}. Is the meter right?`
          : `pH ${typed.ph.text}? Did you mean ${say(meant, places)}?`,
        meant === undefined
          ? null
          : {
              words: `pH ${say(meant, places)}`,
              typed: { ...typed, ph: { ...typed.ph, text: say(meant, places) } },
            },
      ),
    );
  }
  const last = beside.before?.ph ?? null;
  if (last !== null && within(ph, PH) && Math.abs(ph - last) > PH_JUMP) {
    found.push(
      ask(
        'ph-jump',
        'ph',
        `pH ${say(ph, 2)} is more than 1 away from the last one, ${say(last, 2)}. Is it this arm?`,
      ),
    );
  }
  const calibrated = typed.ph.meterCalibratedOn;
  if (calibrated !== null) {
    const days = (Date.parse(beside.takenAt) - Date.parse(calibrated)) / DAY_MS;
    if (days > METER_DAYS + 1)
      found.push(
        ask(
          'ph-meter-old',
          'ph',
          `The meter was calibrated ${Math.floor(days)} days before. After ${METER_DAYS} days a pH does not count before a tasting.`,
        ),
      );
  }
  return found;
}

function aboutGravity(typed: TypedValues, values: ReadingValues, beside: Beside, say: Say): Question[] {
  const how = typed.gravity;
  const shown = how === null ? null : typedNumber(how.text);
  if (how === null || shown === null) return [];
  const { gravity } = values;
  if (how.unit === 'sg' && !within(shown.value, GRAVITY)) return [oddGravity(typed, shown.value, say)];
  if (gravity === null) {
    return [
      ask(
        'gravity-no-conversion',
        'gravity',
        `${how.text} ${how.unit === 'plato' ? '°P' : how.unit === 'brix' ? '°Bx' : 'SG'} cannot be turned into a gravity. It is kept as typed and counts as not read.`,
        how.unit !== 'sg' && within(shown.value, GRAVITY) ? asUnit(typed, 'sg', how.text) : null,
      ),
    ];
  }
  const found: Question[] = [];
  if (how.unit !== 'sg' && within(shown.value, GRAVITY) && shown.value !== 1) {
    found.push(
      ask(
        'gravity-outside',
        'gravity',
        `${how.text} ${how.unit === 'plato' ? '°P' : '°Bx'}? Did you mean SG ${how.text}?`,
        asUnit(typed, 'sg', how.text),
      ),
    );
  } else if (!within(gravity, GRAVITY)) {
    found.push(
      ask(
        'gravity-outside',
        'gravity',
        `That comes to SG ${say(gravity, 3)}, which no ferment holds. Look again.`,
      ),
    );
  }
  const last = beside.before?.gravity ?? null;
  if (how.instrument === 'refractometer' && how.originalBrix === null && last !== null) {
    found.push(
      ask(
        'refractometer-alcohol',
        'gravity',
        'A refractometer reads alcohol too. Give the Brix from before fermentation, or this gravity is too high.',
      ),
    );
  }
  if (last !== null && gravity > last + GRAVITY_NOISE + 1e-9) {
    found.push(
      ask(
        'gravity-rises',
        'gravity',
        `SG ${say(gravity, 3)} is above the last one, ${say(last, 3)}. If sugar or fruit was added, note it; else read again.`,
      ),
    );
  }
  return found;
}

/** SG 1048, 48, 16.5 or 104.8: what it may be. */
function oddGravity(typed: TypedValues, value: number, say: Say): Question {
  const meant = [value / 1000, value / 100, value / 10].find((one) => within(one, GRAVITY));
  const name = typed.gravity?.text ?? '';
  if (meant !== undefined) {
    const text = say(meant, 3);
    return ask('gravity-outside', 'gravity', `SG ${name}? Did you mean ${text}?`, asUnit(typed, 'sg', text));
  }
  if (value > 1.18 && value <= 40) {
    const unit = typed.gravity?.instrument === 'refractometer' ? 'brix' : 'plato';
    const words = unit === 'brix' ? 'degrees Brix' : 'degrees Plato';
    return ask(
      'gravity-outside',
      'gravity',
      `SG ${name}? Did you mean ${name} ${words}?`,
      asUnit(typed, unit, name),
    );
  }
  return ask('gravity-outside', 'gravity', `SG ${name} is no gravity of a ferment. Look again.`);
}

function asUnit(typed: TypedValues, unit: 'sg' | 'plato' | 'brix', text: string): Offer | null {
  if (typed.gravity === null) return null;
  const words = { sg: `SG ${text}`, plato: `${text} °P`, brix: `${text} °Bx` }[unit];
  return { words, typed: { ...typed, gravity: { ...typed.gravity, unit, text } } };
}

function aboutTemperature(typed: TypedValues, { temperatureC }: ReadingValues, say: Say): Question[] {
  if (temperatureC === null || typed.temperature === null || within(temperatureC, CELSIUS)) return [];
  const { text, unit } = typed.temperature;
  const shown = typedNumber(text)?.value ?? Number.NaN;
  const other = unit === 'C' ? 'F' : 'C';
  const otherC = other === 'F' ? ((shown - 32) * 5) / 9 : shown;
  const tenth = unit === 'C' ? shown / 10 : ((shown / 10 - 32) * 5) / 9;
  if (within(otherC, CELSIUS))
    return [
      ask('temperature-outside', 'temperature', `${text} °${unit}? Did you mean °${other}?`, {
        words: `${text} °${other}`,
        typed: { ...typed, temperature: { text, unit: other } },
      }),
    ];
  if (within(tenth, CELSIUS)) {
    const meant = say(shown / 10, 1);
    return [
      ask('temperature-outside', 'temperature', `${text} °${unit}? Did you mean ${meant}?`, {
        words: `${meant} °${unit}`,
        typed: { ...typed, temperature: { text: meant, unit } },
      }),
    ];
  }
  return [
    ask('temperature-outside', 'temperature', `${text} °${unit} is no temperature of a ferment. Look again.`),
  ];
}

function aboutTaken(typed: TypedValues, { takenMl }: ReadingValues, { leftMl, decimal }: Beside): Question[] {
  if (takenMl === null || typed.taken === null) return [];
  const { text, unit } = typed.taken;
  const other = typedNumber(text)?.other ?? null;
  const found: Question[] = [];
  if (other !== null) {
    const whole = String(other);
    found.push(
      ask(
        'number-two-ways',
        'taken',
        `${text} ${unit} is read as ${String(typedNumber(text)?.value).replace('.', decimal)}. Did you mean ${whole}?`,
        { words: `${whole} ${unit}`, typed: { ...typed, taken: { text: whole, unit } } },
      ),
    );
  }
  if (takenMl < 0 || (leftMl !== null && takenMl > leftMl)) {
    found.push(
      ask(
        'taken-more-than-left',
        'taken',
        takenMl < 0
          ? 'What was taken cannot be below zero.'
          : `${text} ${unit} is more than is left of this arm, ${leftMl} mL. Is the volume of the arm right?`,
        unit === 'L' && leftMl !== null && takenMl / 1000 <= leftMl
          ? { words: `${text} mL`, typed: { ...typed, taken: { text, unit: 'mL' } } }
          : null,
      ),
    );
  }
  return found;
}
