import type {
  AgreementMeasure,
  AgreementResult,
  AssessorAgreement,
  PartAgreement,
} from '@oddglass/shared/contracts/result-agreement.ts';
import { decimals, percent, pValue } from '#lib/text/numbers.ts';
import type { RawNumber } from '../raw-numbers.ts';

/** How a label of an assessor is shown: 'A3'. */
export const labelOf = (assessor: string): string => assessor.toUpperCase();

/** '0.62', or a dash for none. A mean's correlation has no floor: far below 0 its size says nothing. */
export function coefficient(value: number | null): string {
  if (value === null) return '–';
  return value < -1 ? `<\u00a0${decimals(-1, 0)}` : decimals(value, 2);
}

/** '0.07 to 0.93'; null when an end is missing. */
export function range({ lower, upper }: { lower: number | null; upper: number | null }): string | null {
  return lower === null || upper === null ? null : `${decimals(lower, 2)} to ${decimals(upper, 2)}`;
}

/** One value of an attribute, assessor by assessor, for matrix and table. */
export interface Correlations {
  attributes: string[];
  /** What has to be said beside an attribute: that the panel has no common order on it. */
  notes: string[];
  assessors: string[];
  /** By attribute, then by assessor. */
  values: (number | null)[][];
}

/** The correlations of a part; null where nobody has one. */
export function correlationsOf({ assessors, measures }: PartAgreement): Correlations | null {
  const attributes = assessors[0]?.agreement.map(({ about }) => about) ?? [];
  const values = attributes.map((about) =>
    assessors.map((one) => one.agreement.find((row) => row.about === about)?.correlation ?? null),
  );
  if (!values.flat().some((value) => value !== null)) return null;
  const notes = attributes.map((about) =>
    measures.find((measure) => measure.about === about)?.concordance?.common === false
      ? 'no common order'
      : '',
  );
  return { attributes, notes, assessors: assessors.map(({ assessor }) => labelOf(assessor)), values };
}

/** The matrix in words: what lies against the others, and the middle of the rest. */
export function matrixInWords({ attributes, assessors, values }: Correlations): string {
  const said = attributes.map((about, row) => {
    const known = (values[row] ?? []).filter((value) => value !== null);
    const against = assessors.filter((_label, column) => (values[row]?.[column] ?? 0) < 0);
    const sorted = [...known].sort((a, b) => a - b);
    const middle = sorted[Math.floor((sorted.length - 1) / 2)] ?? null;
    const turned = against.length === 0 ? 'nobody below 0' : `below 0: ${against.join(', ')}`;
    return `${about}: middle ${coefficient(middle)}, ${turned}`;
  });
  return `Correlation of ${assessors.length} assessors with the mean of the others. ${said.join('. ')}.`;
}

/** A figure of one person, as it stands under the words. */
export interface PersonFact {
  name: string;
  value: string;
  beside?: string;
}

/** Steadiness, discrimination, use of the scale and overlap of one person; what is not known is left out. */
export function factsOf(one: AssessorAgreement): PersonFact[] {
  const facts: PersonFact[] = [];
  const { repeatability, discrimination, scale, overlap } = one;
  if (repeatability) {
    const { standardDeviation, degreesOfFreedom, beside } = repeatability;
    facts.push({
      name: 'apart on the same liquid',
      value: decimals(standardDeviation, 1),
      beside: `standard deviation, ${degreesOfFreedom} df${beside === null ? '' : `; variance ${decimals(beside, 1)} times that of the others`}`,
    });
  }
  if (discrimination) {
    facts.push({
      name: 'tells the samples apart',
      value: `p ${pValue(discrimination.p)}`,
      beside: `with the pattern of the others ${pValue(discrimination.withPattern)}`,
    });
  }
  if (scale) {
    if (scale.shift !== null) {
      const way = scale.shift < 0 ? 'below the others' : 'above the others';
      facts.push({ name: 'level', value: decimals(Math.abs(scale.shift), 1), beside: way });
    }
    if (scale.width !== null) {
      facts.push({
        name: 'width',
        value: decimals(scale.width, 2),
        beside: 'times that of the others’ mean',
      });
    }
    facts.push({ name: 'marks on the ends', value: percent(scale.atEnds) });
  }
  if (overlap !== null) facts.push({ name: 'overlap of words', value: decimals(overlap, 2) });
  return facts;
}

/** Every computed number of the agreement, unrounded. */
export function agreementNumbers({ parts }: AgreementResult): RawNumber[] {
  return parts.flatMap((part) => {
    const of = (name: string) => (parts.length > 1 ? `part ${part.part}, ${name}` : name);
    return [
      ...part.measures.flatMap((measure) => measureNumbers(measure)),
      ...(part.overlap
        ? [
            { name: 'overlap of words, same sample', value: part.overlap.same },
            { name: 'overlap of words, different samples', value: part.overlap.across },
          ]
        : []),
      ...part.assessors.flatMap((one) => personNumbers(one)),
    ].map(({ name, value }) => ({ name: of(name), value }));
  });
}

function limits(name: string, { estimate, lower, upper }: AgreementMeasure['alpha'] | Limits): RawNumber[] {
  return [
    { name, value: estimate },
    { name: `${name}, lower limit`, value: lower },
    { name: `${name}, upper limit`, value: upper },
  ];
}
type Limits = NonNullable<AgreementMeasure['icc']>['single'];

function measureNumbers({ about, alpha, icc, concordance, ac1 }: AgreementMeasure): RawNumber[] {
  return [
    ...limits(`alpha, ${about}`, alpha),
    ...(icc
      ? [...limits(`ICC (2,1), ${about}`, icc.single), ...limits(`ICC (2,k), ${about}`, icc.mean)]
      : []),
    ...(concordance
      ? [
          { name: `W, ${about}`, value: concordance.w },
          { name: `p of W, ${about}`, value: concordance.p },
          { name: `p of W, adjusted, ${about}`, value: concordance.adjusted },
        ]
      : []),
    ...(ac1
      ? [...limits(`AC1, ${about}`, ac1), { name: `share of agreeing pairs, ${about}`, value: ac1.observed }]
      : []),
  ];
}

function personNumbers(one: AssessorAgreement): RawNumber[] {
  const label = labelOf(one.assessor);
  const { repeatability, discrimination, agreement, scale, overlap } = one;
  return [
    ...agreement.map(({ about, correlation }) => ({
      name: `${label}, correlation with the others, ${about}`,
      value: correlation,
    })),
    ...(repeatability
      ? [
          { name: `${label}, repeatability`, value: repeatability.standardDeviation },
          { name: `${label}, variance beside the others`, value: repeatability.beside },
        ]
      : []),
    ...(discrimination
      ? [
          { name: `${label}, p of discrimination`, value: discrimination.p },
          { name: `${label}, p with the pattern of the others`, value: discrimination.withPattern },
        ]
      : []),
    ...(scale
      ? [
          { name: `${label}, level`, value: scale.shift },
          { name: `${label}, width`, value: scale.width },
          { name: `${label}, share of marks on the ends`, value: scale.atEnds },
        ]
      : []),
    ...(overlap === null ? [] : [{ name: `${label}, overlap of words`, value: overlap }]),
  ];
}
