import type { PanelPulls } from '@oddglass/shared/contracts/pull.ts';
import { momentOf } from '@oddglass/shared/notebook/due.ts';
import ical from 'ical-generator';

interface CalendarOf {
  panel: { name: string; demo: boolean };
  pulls: PanelPulls['pulls'];
  now: Date;
  /** Where the pages are, for the link of each event. */
  origin: string;
}

// A pull takes about this long. Our own bound; calendars want an end.
const PULL_MS = 30 * 60_000;
const DAY_MS = 86_400_000;

/**
 * Planned pulls of a panel as a calendar. Nothing of arms, readings or sessions is in it; pulls that wait for pitching have
 * no time yet and are left out. Source: RFC 5545, written by ical-generator.
 */
export function calendarOf({ panel, pulls, now, origin }: CalendarOf): string {
  const calendar = ical({
    name: `Pulls of ${panel.name}${panel.demo ? ' (invented)' : ''}`,
    prodId: { company: 'Oddglass', product: 'Pulls', language: 'EN' },
    ttl: 3600,
  });
  for (const { trial, title, pitchedAt, pull } of pulls) {
    if (pull.when.kind === 'unplanned') continue;
    const moment = momentOf(pull.when, pitchedAt);
    if (moment === null) continue;
    const allDay = pull.when.kind === 'day';
    const start = new Date(allDay ? `${moment.slice(0, 10)}T00:00:00Z` : moment);
    calendar.createEvent({
      id: `${pull.id}@pulls.oddglass`,
      stamp: now,
      start,
      // An event of a whole day ends on the day after it (RFC 5545, 3.6.1).
      end: new Date(start.getTime() + (allDay ? DAY_MS : PULL_MS)),
      allDay,
      summary: `${pull.name} · ${title}`,
      description:
        pull.mlPerArm === null ? 'A pull of each arm.' : `A pull of ${pull.mlPerArm} mL of each arm.`,
      url: `${origin}/bench/trial/${trial}/pull/${pull.id}`,
    });
  }
  return calendar.toString();
}
