import type { DeskView, EntryStep } from '@oddglass/shared/contracts/paper.ts';

type State = DeskView['ballots'][number]['state'];

export const STATE_WORDS: Readonly<Record<State, string>> = {
  free: 'nothing entered',
  waiting: 'set aside, nothing entered',
  once: 'entered once, second entry due',
  differs: 'two entries differ',
  counts: 'counts',
  tablet: 'on a tablet',
  withdrawn: 'withdrew',
};

export const STEP_WORDS: Readonly<Record<EntryStep, string>> = {
  first: 'First entry',
  second: 'Second entry, without a look at the first',
  settled: 'Two entries differ',
  corrected: 'A correction beside what counts',
};
