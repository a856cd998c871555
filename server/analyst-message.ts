import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';

export type AnalystMessage = { id: number } & ({ document: ResultDocument } | { failed: string });
