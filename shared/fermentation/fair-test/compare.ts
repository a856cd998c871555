import type { FairTestFinding } from '../../contracts/fair-test.ts';
import type { ArmMaking, MakingField } from '../../contracts/making.ts';
import { capital, listed } from '../../ground/phrases.ts';
import { COMPARED_FIELDS, type ComparedField } from './fields.ts';

export interface ArmToCompare {
  id: string;
  name: string;
  making: ArmMaking;
}

/**
 * Where arms differ besides the factor, and what nobody knows, field by field in the order of a page. Fields that the
 * factor is about are passed by; of these only what is unknown is told. An addition that only some arms tell counts as a
 * difference, since an empty list is what an arm without additions looks like.
 * Arms: two or more, else nothing is found. Never throws. Source: beside each field (`fields.ts`).
 */
export function compareArms(
  arms: readonly ArmToCompare[],
  factorFields: readonly MakingField[],
): FairTestFinding[] {
  if (arms.length < 2) return [];
  return COMPARED_FIELDS.flatMap((field) => compareField(field, arms, factorFields.includes(field.field)));
}

function compareField(
  compared: ComparedField,
  arms: readonly ArmToCompare[],
  isFactor: boolean,
): FairTestFinding[] {
  const { field, label, told, same, matters, source, always } = compared;
  const known = arms.filter(({ making }) => told(making) !== null);
  const unknown = arms.filter(({ making }) => told(making) === null);
  const grounds = arms.map(({ id, making }) => `${id} ${told(making) ?? 'unknown'}`);
  const common = { arms: arms.map(({ id }) => id), matters, source, undoes: null, grounds };
  const findings: FairTestFinding[] = [];
  const [first] = known;
  const differ = first !== undefined && known.some(({ making }) => !same(first.making, making));
  const oneSided = field === 'additions' && known.length > 0 && unknown.length > 0;
  if (!isFactor && (differ || oneSided)) {
    const values = arms.map(
      ({ name, making }) => `${name} ${told(making) ?? (oneSided ? 'none' : 'unknown')}`,
    );
    const says = `${capital(label)} differs besides the factor: ${listed(values)}.`;
    findings.push({ id: `difference ${field}`, kind: 'difference', says, ...common });
  }
  if (field === 'additions') return findings;
  const pitchedAlike = field === 'cellsBillion' && pitchedTheSame(arms);
  if (unknown.length === arms.length && (always || isFactor)) {
    const says = pitchedAlike
      ? `The same amount was pitched, but how many cells that is, is told for no arm.`
      : `${capital(label)} is told for no arm${isFactor ? ', though the factor is about it' : ''}.`;
    findings.push({ id: `unknown ${field}`, kind: 'unknown', says, ...common });
  } else if (unknown.length > 0 && known.length > 0) {
    const says = `${capital(label)} is not told for ${listed(unknown.map(({ name }) => name))}.`;
    findings.push({ id: `unknown ${field}`, kind: 'unknown', says, ...common });
  }
  return findings;
}

function pitchedTheSame(arms: readonly ArmToCompare[]): boolean {
  const amounts = new Set(
    arms.map(({ making: { pitched } }) => pitched && `${pitched.amount} ${pitched.unit}`),
  );
  return amounts.size === 1 && !amounts.has(null);
}
