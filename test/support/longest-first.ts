import { BaseSequencer, type TestSpecification } from 'vitest/node';

// On a fresh machine vitest takes large files for long ones, and small ones that take minutes would end the run alone.
// Measured on two cores, 2026-11-28: each of these takes more than a tenth of its part.
const LONGEST = [
  'publication/attack',
  'publication/verify',
  'design/flight',
  'server/blindness',
  'server/outage',
  'flow/evening',
  'flow/publication',
  'boot/start',
  'flow/parts',
  'flow/parts-flights',
  'flow/whole-trial',
  'flow/printed',
  'flow/published-folder',
];

const placeOf = ({ moduleId }: TestSpecification): number => {
  const place = LONGEST.findIndex((name) => moduleId.endsWith(`/test/${name}.test.ts`));
  return place < 0 ? LONGEST.length : place;
};

/** The order in which files are begun: those known to be long, then as vitest has it. */
export class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    return (await super.sort(files)).toSorted((a, b) => placeOf(a) - placeOf(b));
  }
}
