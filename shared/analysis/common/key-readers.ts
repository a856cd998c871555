import type { KeyReaders } from '../../contracts/result-common.ts';
import { capital, inWords } from '../../ground/phrases.ts';

/**
 * Who could have known, in a sentence: how many accounts opened the key before the reveal, and how many of them a host had
 * let in after the plan was sealed. Nobody is named.
 */
export function keyReadersSentence({ accounts, invited }: KeyReaders): string {
  if (accounts === 0) return 'No account opened the key before the reveal.';
  const opened = `${capital(inWords(accounts))} ${accounts === 1 ? 'account' : 'accounts'} opened the key before the reveal`;
  if (invited === 0) return `${opened}.`;
  const all = accounts === 1 ? 'it' : accounts === 2 ? 'both of them' : 'all of them';
  const who = invited === accounts ? all : `${inWords(invited)} of them`;
  return `${opened}; ${who} had been invited by a host after the plan was sealed.`;
}
