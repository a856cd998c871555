import { runParts, STATIC_PARTS } from './support/parts.ts';

// npm run check: what is found without running anything, in under a minute.
await runParts(STATIC_PARTS);
