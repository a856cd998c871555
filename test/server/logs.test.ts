import { afterEach, expect, test } from 'vitest';
import { draft, firstHost, newTrial, startServer, type TestServer } from '../support/app.ts';

// What goes wrong is logged without what was being written: the parameters of a failed statement are the key itself
// while a plan is sealed, and whoever starts the server reads its log.

let server: TestServer;
afterEach(() => server.close());

test('a statement that fails while sealing leaves nothing of the key in the log or the answer', async () => {
  const log: string[] = [];
  const drawn: string[] = [];
  let counter = 0;
  server = await startServer({
    logger: { level: 'info', stream: { write: (line: string) => void log.push(line) } },
    random: {
      bytes: (count) => {
        const bytes = Uint8Array.from({ length: count }, () => (counter++ * 73 + 11) % 251);
        drawn.push(Buffer.from(bytes).toString('hex'));
        return bytes;
      },
    },
  });
  const host = await firstHost(server.app);
  const session = await draft(host, await newTrial(host));
  await server.database.pool.query(`
    create function refuse() returns trigger language plpgsql as $$ begin raise exception 'no room left'; end $$;
    create trigger refuse_plan before insert on plan_key for each row execute function refuse();
    create trigger refuse_leaf before insert on seal_leaf for each row execute function refuse();`);
  drawn.length = 0;
  const answer = await host.caller.call('POST', `/api/sessions/${session.id}/seal`, {});
  expect(answer.body).toMatchObject({ type: '/problems/internal', status: 500 });
  const said = log.join('\n') + answer.text;
  // The failure itself is told, so that it can be mended.
  expect(said).toContain('no room left');
  const secrets = drawn.filter((hex) => hex.length === 64);
  expect(secrets.length).toBeGreaterThan(10);
  expect(secrets.filter((hex) => said.includes(hex))).toEqual([]);
  expect(said).not.toMatch(/params:/);
});
