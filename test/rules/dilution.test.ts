import { expect, test } from 'vitest';
import {
  dilutionCheck,
  dilutionInHand,
  mayPourDilution,
  type DilutionStep,
} from '@oddglass/shared/rules/dilution.ts';

const measured = (id: number): DilutionStep => ({ id, kind: 'measured', measurement: null });
const after = (id: number, kind: DilutionStep['kind'], measurement: number): DilutionStep => ({
  id,
  kind,
  measurement,
});

test('nothing measured, or not looked at, is not poured', () => {
  expect(dilutionInHand([])).toBeNull();
  expect(mayPourDilution([])).toBe(false);
  expect(mayPourDilution([measured(1)])).toBe(false);
  expect(mayPourDilution([measured(1), after(2, 'checked', 1)])).toBe(true);
  expect(mayPourDilution([measured(1), after(2, 'alone', 1)])).toBe(true);
});

test('the newest measurement counts, whatever was said of those before', () => {
  const batches = [measured(1), after(2, 'checked', 1), measured(3)];
  expect(mayPourDilution(batches)).toBe(false);
  expect(dilutionInHand([...batches].reverse())?.measured.id).toBe(3);
  expect(mayPourDilution([...batches, after(4, 'others-absent', 3)])).toBe(true);
});

test('a result says alone as soon as one batch was, and nothing where nothing was recorded', () => {
  expect(dilutionCheck([])).toBe('unrecorded');
  expect(dilutionCheck([measured(1)])).toBe('unrecorded');
  expect(dilutionCheck([measured(1), after(2, 'checked', 1), measured(3)])).toBe('checked');
  expect(dilutionCheck([measured(1), after(2, 'alone', 1), measured(3), after(4, 'checked', 3)])).toBe(
    'alone',
  );
  expect(dilutionCheck([measured(1), after(2, 'others-absent', 1)])).toBe('alone');
});
