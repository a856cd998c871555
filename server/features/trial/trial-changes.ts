import type { Arm, Trial } from '@oddglass/db/queries/trial.ts';
import { armMaking, baseMaking, type ArmMaking, type BaseMaking } from '@oddglass/shared/contracts/making.ts';
import { COMPARED_FIELDS, fieldLabel } from '@oddglass/shared/fermentation/fair-test/fields.ts';
import { listed } from '@oddglass/shared/ground/phrases.ts';

/** One thing that was written over, in words. */
export interface Overwritten {
  field: string;
  before: string;
  after: string;
}

type Told = Readonly<Record<string, string>>;

const UNKNOWN = 'unknown';
const orUnknown = (value: string | number | null): string =>
  value === null || value === '' ? UNKNOWN : String(value);

function changed(before: Told, after: Told): Overwritten[] {
  return Object.keys(after)
    .filter((field) => before[field] !== after[field])
    .map((field) => ({ field, before: before[field] ?? UNKNOWN, after: after[field] ?? UNKNOWN }));
}

function toldOfMaking(making: ArmMaking): Told {
  return {
    ...Object.fromEntries(COMPARED_FIELDS.map(({ label, told }) => [label, told(making) ?? UNKNOWN])),
    'best before': orUnknown(making.bestBefore),
  };
}

const UNITS = { sg: 'SG', plato: '°P', brix: '°Bx' } as const;

function toldOfBase({
  recipe,
  originalGravity,
  originalGravityTyped: typed,
  batchMl,
  hopped,
}: BaseMaking): Told {
  return {
    recipe: orUnknown(recipe),
    'original gravity':
      typed && typed.unit !== 'sg'
        ? `${typed.value} ${UNITS[typed.unit]} (SG ${originalGravity})`
        : orUnknown(originalGravity),
    'batch, mL': orUnknown(batchMl),
    hopped: hopped === null ? UNKNOWN : hopped ? 'yes' : 'no',
  };
}

type ArmWords = Pick<Arm, 'name' | 'differs' | 'abv' | 'allergens' | 'making'>;

const toldOfArm = ({ name, differs, abv, allergens, making }: ArmWords): Told => ({
  name,
  'what differs': differs,
  'alcohol, % by volume': orUnknown(abv),
  allergens: allergens.length === 0 ? 'none declared' : listed([...allergens].sort()),
  ...toldOfMaking(armMaking.parse(making)),
});

/** What a change wrote over in an arm. */
export const overwrittenOfArm = (before: ArmWords, change: Partial<ArmWords>): Overwritten[] =>
  changed(toldOfArm(before), toldOfArm({ ...before, ...change }));

type TrialWords = Pick<
  Trial,
  'title' | 'question' | 'factor' | 'base' | 'making' | 'factorFields' | 'archivedAt'
>;

const toldOfTrial = (trial: TrialWords): Told => ({
  title: trial.title,
  question: trial.question,
  factor: trial.factor,
  'what they share': orUnknown(trial.base),
  ...toldOfBase(baseMaking.parse(trial.making)),
  'what the factor is about':
    trial.factorFields.length === 0 ? 'not said' : listed([...trial.factorFields].sort().map(fieldLabel)),
  archived: trial.archivedAt === null ? 'no' : 'yes',
});

/** What a change wrote over in a trial. */
export const overwrittenOfTrial = (before: TrialWords, change: Partial<TrialWords>): Overwritten[] =>
  changed(toldOfTrial(before), toldOfTrial({ ...before, ...change }));
