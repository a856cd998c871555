import { writeFileSync } from 'node:fs';
import { allSentences, likenessTable, SESSIONS } from './support/sentences.ts';

// npm run sentences: writes down every form of sentence that results and planner say, to be read before it is kept.
const kept = (name: string): string => new URL(`sentences/${name}`, import.meta.url).pathname;
writeFileSync(kept('said.txt'), `${allSentences(SESSIONS).join('\n')}\n`);
writeFileSync(kept('likeness.txt'), `${likenessTable(6, 60).join('\n')}\n`);
