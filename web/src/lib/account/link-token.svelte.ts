import { goto } from '$app/navigation';
import { onMount } from 'svelte';
import { tokenOf } from './bench-place.ts';

/**
 * The one-time token that came in the fragment. It is read once and taken out of the address bar, so that
 * neither a screenshot nor the history keeps it.
 */
export class LinkToken {
  /** undefined until the page runs; null when the link holds no whole token. */
  value = $state<string | null>();
  constructor() {
    onMount(() => {
      this.value = tokenOf(location.hash) ?? null;
      if (location.hash !== '') void goto(location.pathname, { replace: true, reset: false });
    });
  }
}
