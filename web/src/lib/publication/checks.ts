import type { Check } from '@oddglass/shared/publication/verify.ts';

/** Checks that belong together: those of one part, of one table, of the seal of a session. */
export interface CheckGroup {
  name: string;
  checks: { name: string; check: Check }[];
  failed: number;
}

/** Checks in groups, in order. A name says its group first: 'session 1, part 2 (triangle): exact p'. */
export function grouped(checks: readonly Check[]): CheckGroup[] {
  const groups = new Map<string, CheckGroup>();
  for (const check of checks) {
    const { group, name } = named(check.name);
    const own = groups.get(group) ?? { name: group, checks: [], failed: 0 };
    own.checks.push({ name, check });
    own.failed += check.ok ? 0 : 1;
    groups.set(group, own);
  }
  return [...groups.values()];
}

function named(whole: string): { group: string; name: string } {
  const part = /^(session \d+, part \d+ \([^)]*\)): (.+)$/.exec(whole);
  const session = /^(session \d+), (.+)$/.exec(whole);
  const file = /^(datapackage\.json), (.+)$/.exec(whole);
  const [, group = '', name = ''] = part ?? session ?? file ?? [];
  if (group === '') return { group: 'The document as a whole', name: whole };
  if (part) return { group: capital(group), name };
  return { group: session ? `${capital(group)}: seal and people` : group, name };
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** What all checks say together. */
export function verdictWords(checks: readonly Check[]): string {
  const failed = checks.filter(({ ok }) => !ok).length;
  if (checks.length === 0) return 'Nothing could be checked.';
  return failed === 0
    ? `All ${checks.length} checks agree.`
    : `${failed} of ${checks.length} checks ${failed === 1 ? 'does' : 'do'} not agree.`;
}

/** A value as it stands in a narrow column: long ones are cut in the middle, where hashes and lists tell least. */
export function shortened(value: string, most = 120): string {
  if (value.length <= most) return value;
  const half = Math.floor((most - 3) / 2);
  return `${value.slice(0, half)} … ${value.slice(-half)}`;
}
