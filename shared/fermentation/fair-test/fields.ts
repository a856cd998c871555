import type { ArmMaking, Closure, CultureForm, MakingField, Organism } from '../../contracts/making.ts';
import { listed } from '../../ground/phrases.ts';

export const CLOSURE_WORDS: Readonly<Record<Closure, string>> = {
  airtight: 'airtight',
  airlock: 'airlock',
  porous: 'lets some air through (wood, soft plastic, worn seal)',
  open: 'open',
};

export const CULTURE_FORM_WORDS: Readonly<Record<CultureForm, string>> = {
  dry: 'dry',
  liquid: 'liquid, as bought',
  slurry: 'slurry of an earlier batch',
  starter: 'starter grown for it',
  dregs: 'dregs of a bottle',
  wild: 'caught wild',
  none: 'nothing pitched',
};

export const ORGANISM_WORDS: Readonly<Record<Organism, string>> = {
  yeast: 'yeast',
  brettanomyces: 'Brettanomyces',
  'lactic-bacteria': 'lactic acid bacteria',
  'acetic-bacteria': 'acetic acid bacteria',
  mixed: 'mixed or not known in full',
};

// Nearer than these nobody keeps two fermenters apart, or measures them. Our own bounds; no source.
const DEGREES_APART = 0.5;
const SHARE_APART = 0.05;

/** How one field of an arm is told and compared. */
export interface ComparedField {
  field: MakingField;
  label: string;
  /** In words; null: unknown. */
  told: (making: ArmMaking) => string | null;
  /** Are two known values the same, as near as it can be kept? */
  same: (one: ArmMaking, other: ArmMaking) => boolean;
  /** What it may do to a comparison when it differs, and when nobody knows. */
  matters: string;
  source: string;
  /** Asked for even where no arm tells it. */
  always: boolean;
}

const COMMON = 'common practice, no source';
const number = (value: number): string => String(Math.round(value * 100) / 100);
const text =
  (read: (making: ArmMaking) => string) =>
  (making: ArmMaking): string | null =>
    read(making) === '' ? null : read(making);
const alike =
  (told: (making: ArmMaking) => string | null) =>
  (one: ArmMaking, other: ArmMaking): boolean =>
    told(one)?.toLocaleLowerCase('en') === told(other)?.toLocaleLowerCase('en');
const within =
  (read: (making: ArmMaking) => number | null, apart: (one: number, other: number) => number) =>
  (one: ArmMaking, other: ArmMaking): boolean => {
    const [a, b] = [read(one) ?? 0, read(other) ?? 0];
    return Math.abs(a - b) <= apart(a, b);
  };
const share = (one: number, other: number): number => SHARE_APART * Math.max(one, other);

const vessel = text(({ vessel: told }) => told);
const closure = ({ closure: told }: ArmMaking): string | null => (told === null ? null : CLOSURE_WORDS[told]);
const culture = text(({ culture: told }) => told);
const form = ({ cultureForm: told }: ArmMaking): string | null =>
  told === null ? null : CULTURE_FORM_WORDS[told];
const organisms = ({ organisms: told }: ArmMaking): string | null =>
  told.length === 0 ? null : listed([...told].sort().map((one) => ORGANISM_WORDS[one]));
const lot = text(({ lot: told }) => told);
const pitched = ({ pitched: told }: ArmMaking): string | null =>
  told === null ? null : `${number(told.amount)} ${told.unit}`;
const additions = ({ additions: told }: ArmMaking): string | null =>
  told.length === 0
    ? null
    : told
        .map(({ what, amount, on }) =>
          [amount, what, on === null ? '' : `on ${on}`].filter(Boolean).join(' '),
        )
        .sort()
        .join('; ');

/** Every field that is compared, in the order in which a page tells them. */
export const COMPARED_FIELDS: readonly ComparedField[] = [
  {
    field: 'vessel',
    label: 'vessel',
    told: vessel,
    same: alike(vessel),
    matters: 'Shape and material bear on headspace, air and temperature.',
    source: COMMON,
    always: true,
  },
  {
    field: 'vesselMl',
    label: 'size of the vessel',
    told: ({ vesselMl }) => (vesselMl === null ? null : `${number(vesselMl)} mL`),
    same: within(({ vesselMl }) => vesselMl, share),
    matters: 'More headspace holds more air over the same liquid.',
    source: COMMON,
    always: false,
  },
  {
    field: 'closure',
    label: 'closure',
    told: closure,
    same: alike(closure),
    matters: 'Air makes stale and vinegary notes that have nothing to do with the factor.',
    source:
      'De Roos & De Vuyst 2018, Front. Microbiol. 9:2763, for acetic acid bacteria; else common practice, no source',
    always: true,
  },
  {
    field: 'culture',
    label: 'culture',
    told: culture,
    same: alike(culture),
    matters: 'Another culture makes another drink.',
    source: COMMON,
    always: true,
  },
  {
    field: 'cultureForm',
    label: 'form of the culture',
    told: form,
    same: alike(form),
    matters: 'Form and age of a culture bear on how fast it starts.',
    source: COMMON,
    always: false,
  },
  {
    field: 'organisms',
    label: 'organisms',
    told: organisms,
    same: alike(organisms),
    matters: 'Other organisms make other acids and other notes.',
    source: COMMON,
    always: false,
  },
  {
    field: 'lot',
    label: 'lot of the culture',
    told: lot,
    same: alike(lot),
    matters: 'Lots of one culture differ in cells and vigour.',
    source: COMMON,
    always: false,
  },
  {
    field: 'pitched',
    label: 'amount pitched',
    told: pitched,
    same: (one, other) =>
      one.pitched?.unit === other.pitched?.unit &&
      within(({ pitched: told }) => told?.amount ?? 0, share)(one, other),
    matters: 'How much is pitched bears on the speed of the start and on esters.',
    source: COMMON,
    always: true,
  },
  {
    field: 'cellsBillion',
    label: 'cells pitched',
    told: ({ cellsBillion }) => (cellsBillion === null ? null : `${number(cellsBillion)} thousand million`),
    same: within(({ cellsBillion }) => cellsBillion, share),
    matters:
      'Equal millilitres or grams are not equal cells: age and form of a culture change how many live.',
    source: COMMON,
    always: true,
  },
  {
    field: 'temperatureC',
    label: 'temperature',
    told: ({ temperatureC }) => (temperatureC === null ? null : `${number(temperatureC)} °C`),
    same: within(
      ({ temperatureC }) => temperatureC,
      () => DEGREES_APART,
    ),
    matters: 'Temperature bears on speed, esters and higher alcohols.',
    source: COMMON,
    always: true,
  },
  {
    field: 'additions',
    label: 'additions',
    told: additions,
    same: alike(additions),
    matters: 'What is added to one arm and not to another, or at another time, can be what people taste.',
    source: COMMON,
    always: false,
  },
];

/** The field as a page names it. Example: `fieldLabel('temperatureC')` is 'temperature' */
export function fieldLabel(field: MakingField): string {
  return COMPARED_FIELDS.find((one) => one.field === field)?.label ?? field;
}

/**
 * The field that a factor names outright, so that nobody is told that it differs besides itself: 'temperature',
 * 'The closure', 'fermentation temperature'. Anything longer may mean another thing ('temperature of the mash') and is
 * left to the host. None: an empty list. Never throws.
 */
export function fieldsNamedBy(factor: string): MakingField[] {
  const named = factor
    .trim()
    .toLowerCase()
    .replace(/^the /, '')
    .replace(/^fermentation /, '');
  return COMPARED_FIELDS.filter(({ label }) => label === named).map(({ field }) => field);
}
