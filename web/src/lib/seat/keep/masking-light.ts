import { z } from 'zod';
import { recall, remember } from './device-store.ts';

// Masking light hides the colour of what is in the cups. The device remembers what was chosen on it.

const LIGHT = 'oddglass.light';
const LIGHT_SHOWN = 'oddglass.light-shown';
const light = z.enum(['masking', 'day']);
export type Light = z.infer<typeof light>;

export const recallLight = (): Light | null => light.safeParse(recall(LIGHT)).data ?? null;
export const rememberLight = (value: Light): boolean => remember(LIGHT, value);
/** Whoever has the device next chooses anew. */
export const forgetLight = (): boolean => remember(LIGHT, null);
/** The light shown last, chosen or not: what the next page begins with, so that a dark room stays dark. */
export const recallLightShown = (): Light | null => light.safeParse(recall(LIGHT_SHOWN)).data ?? null;
export const rememberLightShown = (value: Light): boolean => remember(LIGHT_SHOWN, value);
