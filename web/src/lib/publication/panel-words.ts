import type { DisclosureTier, PublishedSession } from '@oddglass/shared/contracts/publication.ts';
import { peopleWords } from './facts.ts';

const TIERS: Readonly<Record<DisclosureTier, string>> = {
  full: 'Ten or more answered, so figures stand exact and with their intervals.',
  coarse: 'Five to nine answered, so counts are told, and means only roughly.',
  agreed:
    'Fewer than five answered: this is one small group’s word. Each of them and the host agreed to publish it.',
};

/** The panel of one session in aggregate; of single people nothing is known here. */
export function panelWords({ seated, assessors, withdrawn, tier, rows }: PublishedSession): string {
  const gone =
    withdrawn > 0
      ? ` ${peopleWords(withdrawn)} withdrew what they said; figures are counted without them, so n is smaller than in an earlier version or than the seats that were planned.`
      : '';
  const single =
    rows === null
      ? ' Single answers are not published.'
      : ' Everybody agreed to single answers being published.';
  const came =
    assessors === seated
      ? `${peopleWords(seated)} took a seat and answered.`
      : `${peopleWords(seated)} took a seat, ${assessors} of them answered.`;
  return `${capital(came)}${capitalAfter(gone)} ${TIERS[tier]}${single}`;
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
const capitalAfter = (text: string): string => (text === '' ? '' : ` ${capital(text.trimStart())}`);
