import type { InvitationView, OpenInvitations } from '@oddglass/shared/contracts/account.ts';
import { SIGN_IN_ENDED } from '@oddglass/shared/contracts/live.ts';
import type { PanelView } from '@oddglass/shared/contracts/panel.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import {
  Caller,
  draft,
  firstHost,
  invited,
  moved,
  newTrial,
  startServer,
  strangeHost,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { PASSPHRASE } from '../support/factories.ts';
import { until } from '../support/until.ts';

// Who is of a panel, who may come in, and how both end.

let server: TestServer;
let address: string;
let host: Hosted;
let stranger: Hosted;
let sealed: SessionView;
const sockets: WebSocket[] = [];
const log: string[] = [];

beforeAll(async () => {
  server = await startServer({
    logger: { level: 'warn', stream: { write: (line: string) => void log.push(line) } },
  });
  address = await server.app.listen({ port: 0, host: '127.0.0.1' });
  host = await firstHost(server.app);
  stranger = await strangeHost(host);
  sealed = await moved(host, await draft(host, await newTrial(host)), 'seal');
});
afterAll(async () => {
  for (const socket of sockets) socket.terminate();
  await server.close();
});

const panelPath = () => `/api/panels/${host.panel}`;
const membersOf = async () => (await host.caller.ok<PanelView>('GET', panelPath())).members;
const idOf = async (name: string): Promise<string> =>
  (await membersOf()).find((member) => member.name === name)?.id ?? '';
const remove = (who: Hosted, id: string) => who.caller.call('DELETE', `${panelPath()}/members/${id}`);
const invite = (role: string, by = host) =>
  by.caller.ok<InvitationView>('POST', `${panelPath()}/invitations`, { role });
const openOnes = async (by = host) =>
  (await by.caller.ok<OpenInvitations>('GET', `${panelPath()}/invitations`)).invitations;
const typeOf = ({ status, body }: { status: number; body: Record<string, unknown> }) => [
  status,
  body['type'],
];

function watch({ caller }: Hosted, session = sealed): { closed: () => number | null; ready: Promise<void> } {
  const socket = new WebSocket(`${address.replace('http', 'ws')}/api/sessions/${session.id}/live`, {
    headers: { cookie: caller.cookie ?? '' },
  });
  sockets.push(socket);
  let closed: number | null = null;
  socket.on('close', (code) => (closed = code));
  const ready = new Promise<void>((resolve, reject) => {
    socket.once('message', () => resolve());
    socket.once('error', reject);
  });
  return { closed: () => closed, ready };
}

test('a removed steward is out at once: panel, pour list and the board that was open; other panels stay', async () => {
  const steward = await invited(host, 'steward', 'Leaving');
  const own = await steward.caller.ok<PanelView>('POST', '/api/panels', { name: 'Their own' });
  const theirs = { caller: steward.caller, panel: own.id };
  const elsewhere = await moved(theirs, await draft(theirs, await newTrial(theirs)), 'seal');
  const [here, there] = [watch(steward), watch(theirs, elsewhere)];
  await Promise.all([here.ready, there.ready]);
  await steward.caller.ok('GET', `/api/sessions/${sealed.id}/pour`);

  expect(typeOf(await remove(host, await idOf('Leaving')))).toEqual([200, undefined]);
  await until('the board closes', () => here.closed() === SIGN_IN_ENDED);
  for (const path of [panelPath(), `/api/sessions/${sealed.id}/pour`, `/api/sessions/${sealed.id}/board`]) {
    expect((await steward.caller.call('GET', path)).status, path).toBe(404);
  }
  expect((await membersOf()).map(({ name }) => name)).not.toContain('Leaving');
  // What they did stands, and what is theirs elsewhere too.
  const board = await host.caller.ok<{ keyOpenings: { name: string }[] }>(
    'GET',
    `/api/sessions/${sealed.id}/board`,
  );
  expect(board.keyOpenings.map(({ name }) => name)).toContain('Leaving');
  expect((await steward.caller.call('GET', `/api/panels/${own.id}`)).status).toBe(200);
  expect(there.closed()).toBeNull();
  expect(log.join('')).toContain('member-removed');
});

test('only hosts remove, only members are removed, and never the last host', async () => {
  const steward = await invited(host, 'steward', 'Staying');
  const me = await idOf('Host');
  expect(typeOf(await remove(steward, me))).toEqual([403, '/problems/not-allowed']);
  expect((await remove(stranger, me)).status).toBe(404);
  expect((await remove(host, stranger.panel)).status).toBe(404);
  expect(typeOf(await remove(host, me))).toEqual([409, '/problems/last-host']);
  // Two hosts who remove each other at the same moment: one of them stays.
  const second = await invited(host, 'host', 'Second');
  const them = await idOf('Second');
  const both = await Promise.all([remove(host, them), remove(second, me)]);
  expect(both.map(({ status }) => status).sort()).toEqual([200, 404]);
  const left = both[0]?.status === 200 ? host : second;
  const hosts = (await left.caller.ok<PanelView>('GET', panelPath())).members.filter(
    ({ role }) => role === 'host',
  );
  expect(hosts).toHaveLength(1);
  host = left;
});

test('open invitations are listed without what opens them, and a revoked one opens nothing', async () => {
  const made = await invite('steward');
  const [first] = await openOnes();
  const name = (await membersOf()).find(({ role }) => role === 'host')?.name;
  expect(first).toMatchObject({ role: 'steward', invitedBy: name, expiresAt: made.expiresAt });
  expect(JSON.stringify(await openOnes())).not.toContain(made.token);
  const revoke = (who: Hosted) => who.caller.call('DELETE', `${panelPath()}/invitations/${first?.id}`);
  expect((await revoke(stranger)).status).toBe(404);
  const steward = await invited(host, 'steward', 'Looker');
  expect(typeOf(await revoke(steward))).toEqual([403, '/problems/not-allowed']);
  expect((await steward.caller.call('GET', `${panelPath()}/invitations`)).status).toBe(403);
  expect((await revoke(host)).status).toBe(200);
  expect((await revoke(host)).status).toBe(404);
  expect(await openOnes()).toEqual([]);
  const late = await new Caller(server.app).call('POST', '/api/invitations/accept', {
    token: made.token,
    name: 'Too late',
    passphrase: PASSPHRASE,
  });
  expect(typeOf(late)).toEqual([410, '/problems/link-expired']);
});

test('an invitation that was used or has ended is not open any more; those of a removed host end with them', async () => {
  await invited(host, 'steward', 'Used');
  expect(await openOnes()).toEqual([]);
  await invite('host');
  expect(await openOnes()).toHaveLength(1);
  // A week later, as far as the link can tell.
  await server.database.pool.query('update invitation set expires_at = $1 where used_at is null', [
    server.clock.now,
  ]);
  expect(await openOnes()).toEqual([]);
  const second = await invited(host, 'host', 'Inviter');
  const back = await invite('host', second);
  expect(await openOnes()).toHaveLength(1);
  expect((await remove(host, await idOf('Inviter'))).status).toBe(200);
  expect(await openOnes()).toEqual([]);
  const again = await second.caller.call('POST', '/api/invitations/join', { token: back.token });
  expect(typeOf(again)).toEqual([410, '/problems/link-expired']);
});

test('somebody who has an account joins with it; a member does not use the link up', async () => {
  const { token } = await invite('steward');
  const join = (who: Caller) => who.call<{ panels?: object[] }>('POST', '/api/invitations/join', { token });
  expect((await join(new Caller(server.app))).status).toBe(401);
  expect(typeOf(await join(host.caller))).toEqual([409, '/problems/already-member']);
  const joined = await join(stranger.caller);
  expect(joined.status).toBe(200);
  expect(joined.body.panels).toContainEqual(expect.objectContaining({ id: host.panel, role: 'steward' }));
  expect((await stranger.caller.call('GET', panelPath())).status).toBe(200);
  expect((await membersOf()).find(({ name }) => name === 'Stranger')?.role).toBe('steward');
  expect(typeOf(await join((await invited(stranger, 'host', 'Other')).caller))).toEqual([
    410,
    '/problems/link-expired',
  ]);
});
