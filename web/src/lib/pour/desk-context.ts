import { createContext } from 'svelte';
import type { PourDesk } from './pour-desk.svelte.ts';

/** One desk for pour list, tray map and labels, so that a tick shows on all of them. */
export const [deskHere, setDesk] = createContext<PourDesk>();
