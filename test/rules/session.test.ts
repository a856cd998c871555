import type { SessionState } from '@oddglass/shared/contracts/session.ts';
import { actionsFor, mayAct, SESSION_STATES, stateAfter } from '@oddglass/shared/rules/session.ts';
import { expect, test } from 'vitest';

const standing = (state: SessionState, blinding: 'double' | 'single' = 'double') => ({ state, blinding });

test('a session only goes forward, one step at a time', () => {
  const steps = { draft: 'seal', sealed: 'open', open: 'close', closed: 'reveal' } as const;
  for (const [state, step] of Object.entries(steps) as [
    keyof typeof steps,
    (typeof steps)[keyof typeof steps],
  ][]) {
    for (const other of Object.values(steps))
      expect(mayAct(standing(state), 'host', other)).toBe(other === step);
    expect(SESSION_STATES.indexOf(stateAfter(step)!)).toBe(SESSION_STATES.indexOf(state) + 1);
  }
  for (const step of Object.values(steps)) expect(mayAct(standing('revealed'), 'host', step)).toBe(false);
});

test('a steward moves nothing and pours from sealing on', () => {
  for (const state of SESSION_STATES) {
    const actions = actionsFor(standing(state), 'steward');
    for (const step of ['edit', 'remove', 'seal', 'open', 'close', 'reveal', 'take-key'] as const)
      expect(actions).not.toContain(step);
    expect(actions.includes('pour')).toBe(state !== 'draft');
  }
});

test('a host pours only with the key in hand, and takes it once', () => {
  for (const state of ['sealed', 'open'] as const) {
    expect(mayAct(standing(state), 'host', 'pour')).toBe(false);
    expect(mayAct(standing(state), 'host', 'take-key')).toBe(true);
    expect(mayAct(standing(state, 'single'), 'host', 'pour')).toBe(true);
    expect(mayAct(standing(state, 'single'), 'host', 'take-key')).toBe(false);
  }
  expect(mayAct(standing('closed'), 'host', 'pour')).toBe(false);
});

test('results are read after the reveal only', () => {
  for (const state of SESSION_STATES) {
    expect(mayAct(standing(state), 'host', 'read-result')).toBe(state === 'revealed');
  }
});

test.each([
  ['draft', 'edit remove seal rehearse', 'edit remove seal rehearse', ''],
  [
    'sealed',
    'open take-key print-ballots set-aside rehearse',
    'open pour print-ballots set-aside rehearse',
    'pour print-ballots',
  ],
  [
    'open',
    'close take-key rotate-code hand-over free-seat print-ballots set-aside open-desk',
    // Whoever hosts has the key now, and could answer by it.
    'close pour rotate-code free-seat print-ballots set-aside',
    'pour rotate-code print-ballots',
  ],
  ['closed', 'reveal', 'reveal pour', 'pour'],
  // After the reveal a host reads the pouring sheet like everybody else.
  ['revealed', 'pour read-result', 'pour read-result', 'pour read-result'],
] as const)('in a session that is %s nothing but this may be done', (state, blind, single, steward) => {
  const done = (role: 'host' | 'steward', blinding?: 'single') =>
    actionsFor(standing(state, blinding), role).toSorted().join(' ');
  const sorted = (words: string) => words.split(' ').toSorted().join(' ');
  expect(done('host')).toBe(sorted(blind));
  expect(done('host', 'single')).toBe(sorted(single));
  expect(done('steward')).toBe(sorted(steward));
  expect(done('steward', 'single')).toBe(sorted(steward));
});

test('a rehearsal can be removed and played, never rehearsed again; a steward does none of it', () => {
  for (const state of SESSION_STATES) {
    const rehearsal = { ...standing(state), rehearsal: true };
    expect(mayAct(rehearsal, 'host', 'remove')).toBe(true);
    expect(mayAct(rehearsal, 'host', 'play')).toBe(state === 'open');
    expect(mayAct(rehearsal, 'host', 'rehearse')).toBe(false);
    for (const action of ['remove', 'play', 'rehearse'] as const)
      expect(mayAct(rehearsal, 'steward', action)).toBe(false);
    const others = (of: typeof rehearsal | ReturnType<typeof standing>) =>
      actionsFor(of, 'host').filter((action) => !['remove', 'play', 'rehearse'].includes(action));
    expect(others(rehearsal)).toEqual(others(standing(state)));
  }
});

test('steps lead to the next state, anything else leads nowhere', () => {
  expect((['seal', 'open', 'close', 'reveal', 'edit', 'pour'] as const).map(stateAfter)).toEqual([
    'sealed',
    'open',
    'closed',
    'revealed',
    null,
    null,
  ]);
});
