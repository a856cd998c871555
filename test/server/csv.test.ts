import { expect, test } from 'vitest';
import { newTrial, usePanel, type Hosted, type TestServer } from '../support/app.ts';
import { playSession } from '../support/simulated-panel.ts';

let server: TestServer;
let host: Hosted;
usePanel((panel) => ({ server, host } = panel));

test('answers leave as tidy rows, figures as rows of the document, texts defused', async () => {
  const trial = await newTrial(host);
  const session = await playSession(
    server,
    host,
    trial,
    {
      assessors: 2,
      spareSeats: 0,
      parts: [
        {
          kind: 'description',
          cups: 'own',
          samples: trial.arms.map(({ id }) => ({ armId: id, role: 'sample', spike: null })),
          replicates: 1,
          cupsEach: null,
          alpha: 0.05,
          words: null,
          intensity: false,
        },
      ],
    },
    ({ seat }) =>
      seat === 1
        ? {
            kind: 'description',
            words: [{ id: 'banana', intensity: null }],
            ownWords: ['=1+1, "quoted"'],
            none: false,
          }
        : null,
  );
  const answers = await host.caller.call('GET', `/api/sessions/${session.id}/result.csv`);
  expect(answers.status).toBe(200);
  expect(answers.headers['content-type']).toBe('text/csv; charset=utf-8');
  expect(answers.headers['content-disposition']).toMatch(
    /^attachment; filename="pale-beer-day-21-result\.csv"$/,
  );
  const lines = answers.text.replace(/^\uFEFF/, '').split('\r\n');
  expect(lines[0]).toBe('part,kind,assessor,replicate,position,sample,arm,role,question,value,unit');
  // Two cups of the one who answered: a word and a word of their own each; two cups without an answer.
  expect(lines.filter((line) => line.includes(',banana,1,'))).toHaveLength(2);
  expect(lines.filter((line) => line.includes(`"'=1+1, ""quoted"""`))).toHaveLength(2);
  expect(lines.filter((line) => line.includes(',no answer,,'))).toHaveLength(2);
  expect(answers.text).not.toMatch(/\bseat\b/);

  const figures = await host.caller.call('GET', `/api/sessions/${session.id}/figures.csv`);
  expect(figures.text).toContain('1,description,served.answers,2');
  expect(figures.text).toMatch(/agreement,/);

  const early = await host.caller.call(
    'GET',
    '/api/sessions/00000000-0000-4000-8000-000000000000/result.csv',
  );
  expect(early.status).toBe(404);
});
