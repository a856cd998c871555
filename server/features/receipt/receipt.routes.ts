import { receiptView } from '@oddglass/shared/contracts/receipt.ts';
import type { Feature } from '../../feature.ts';
import { readReceipt } from './receipt.service.ts';
import { withdrawAnswers } from './withdrawal.service.ts';

const config = { access: 'receipt' } as const;

export const receiptFeature: Feature = async (app, { deps }) => {
  app.get('/api/receipt', { config, schema: { response: { 200: receiptView } } }, (request) =>
    readReceipt(deps, request.seat),
  );
  app.post('/api/receipt/withdraw', { config, schema: { response: { 200: receiptView } } }, (request) =>
    withdrawAnswers(deps, request.seat),
  );
};
