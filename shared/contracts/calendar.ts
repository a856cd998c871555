import { z } from 'zod';
import { moment, token } from './common.ts';

/** Whether a panel's calendar has an address, and since when. The address itself is told once, when it is drawn. */
export const calendarView = z.object({ drawnAt: moment.nullable(), drawnBy: z.string().nullable() });
export type CalendarView = z.infer<typeof calendarView>;

export const calendarDrawn = calendarView.extend({ token });
export type CalendarDrawn = z.infer<typeof calendarDrawn>;
