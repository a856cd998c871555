import { recall, remember } from '#lib/seat/keep/device-store.ts';
import { keptPull, type KeptPull } from './reading-draft.ts';

// Written at once with every key, which IndexedDB cannot promise before a page goes away; a pull is small.
const KEY = 'oddglass.pull.';
const keyOf = (actor: string, pull: string): string => `${KEY}${actor}.${pull}`;

/** What this device keeps of a pull for whoever is signed in; null where there is nothing, or nothing readable. */
export function recallPull(actor: string, pull: string): KeptPull | null {
  try {
    return keptPull.safeParse(JSON.parse(recall(keyOf(actor, pull)) ?? 'null')).data ?? null;
  } catch {
    return null;
  }
}

/** False when the browser refuses to store. What is empty is taken away. */
export function rememberPull(actor: string, kept: KeptPull): boolean {
  const empty = kept.waiting.length === 0 && Object.keys(kept.drafts).length === 0;
  return remember(keyOf(actor, kept.pull), empty ? null : JSON.stringify(kept));
}

/** Everything this device keeps for somebody, of any pull. */
export function keptPulls(actor: string): KeptPull[] {
  try {
    const start = keyOf(actor, '');
    return Object.keys(localStorage)
      .filter((key) => key.startsWith(start))
      .flatMap((key) => recallPull(actor, key.slice(start.length)) ?? []);
  } catch {
    return [];
  }
}
