import { randomBytes } from 'node:crypto';
import { buildApp } from '@oddglass/server/app.ts';
import type { ActorView, InvitationView, Role } from '@oddglass/shared/contracts/account.ts';
import type { PanelView } from '@oddglass/shared/contracts/panel.ts';
import type { JoinOffer, SeatTaken, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { MoveOffer, SessionSettings, SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialInput, TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll } from 'vitest';
import { foundFit, PASSPHRASE, settings, trialInput } from './factories.ts';
import { createTestDatabase, type TestDatabase } from './database.ts';

export interface Answer<T> {
  status: number;
  body: T;
  text: string;
  headers: Record<string, unknown>;
}

/** Somebody who calls the API: a browser with a cookie, or a tablet with a seat token. */
export class Caller {
  readonly app: FastifyInstance;
  cookie: string | undefined;
  seatToken: string | undefined;

  constructor(app: FastifyInstance, seatToken?: string) {
    this.app = app;
    this.seatToken = seatToken;
  }

  async call<T = Record<string, unknown>>(method: string, path: string, body?: unknown): Promise<Answer<T>> {
    const answer = await this.app.inject({
      method: method as 'GET',
      url: path,
      headers: {
        ...(this.cookie && { cookie: this.cookie }),
        ...(this.seatToken && { authorization: `Bearer ${this.seatToken}` }),
        ...(body !== undefined && { 'content-type': 'application/json' }),
      },
      ...(body !== undefined && { payload: typeof body === 'string' ? body : JSON.stringify(body) }),
    });
    for (const set of [answer.headers['set-cookie'] ?? []].flat()) this.#keep(set);
    const json = String(answer.headers['content-type'] ?? '').includes('json');
    return {
      status: answer.statusCode,
      body: (json && answer.payload ? JSON.parse(answer.payload) : undefined) as T,
      text: answer.payload,
      headers: answer.headers,
    };
  }

  /** As a browser keeps cookies: each by its name. */
  #keep(set: string): void {
    const [pair = ''] = set.split(';');
    const [name = ''] = pair.split('=');
    const others = (this.cookie ?? '').split('; ').filter((one) => one !== '' && !one.startsWith(`${name}=`));
    this.cookie = [...others, pair].join('; ');
  }

  /** The answer's body, or an error that says what came instead. */
  async ok<T>(method: string, path: string, body?: unknown): Promise<T> {
    const answer = await this.call<T>(method, path, body);
    if (answer.status !== 200)
      throw new Error(`${method} ${path}: ${answer.status} ${answer.text.slice(0, 500)}`);
    return answer.body;
  }
}

export interface TestServer {
  app: FastifyInstance;
  database: TestDatabase;
  /** Moves the server's clock. */
  clock: { now: Date };
  close: () => Promise<void>;
}

const START = '2031-03-04T18:00:00Z';

export async function startServer(
  options: Partial<Parameters<typeof buildApp>[0]> = {},
): Promise<TestServer> {
  const database = await createTestDatabase();
  const clock = { now: new Date(START) };
  const app = await buildApp({
    pool: database.pool,
    databaseUrl: database.url,
    clock: () => clock.now,
    ...options,
  });
  await app.ready();
  return {
    app,
    database,
    clock,
    close: async () => {
      await app.close();
      await database.drop();
    },
  };
}

export interface Hosted {
  caller: Caller;
  panel: string;
}

export async function firstHost(app: FastifyInstance, name = 'Host'): Promise<Hosted> {
  const caller = new Caller(app);
  const token = await app.firstHostToken();
  const view = await caller.ok<ActorView>('POST', '/api/first-host', {
    token,
    panel: 'Panel of ' + name,
    name,
    passphrase: PASSPHRASE,
  });
  return { caller, panel: view.panels[0]?.id ?? '' };
}

/** A server with a host's panel. */
export interface HostsPanel {
  server: TestServer;
  host: Hosted;
}

/** The same with a steward in it, whose name is Steward. */
export interface StewardsPanel extends HostsPanel {
  steward: Hosted;
}

/** Opens a server with a host for all tests of the file that asks, hands both over, and closes it after them. */
export function usePanel(take: (panel: HostsPanel) => unknown): void {
  let server: TestServer | undefined;
  beforeAll(async () => {
    server = await startServer();
    take({ server, host: await firstHost(server.app) });
  });
  afterAll(() => server?.close());
}

/** The same with a steward. */
export function useStewardsPanel(take: (panel: StewardsPanel) => unknown): void {
  let given: HostsPanel;
  usePanel((panel) => (given = panel));
  beforeAll(async () => take({ ...given, steward: await invited(given.host, 'steward', 'Steward') }));
}

/** Another account, invited into the panel. */
export async function invited(host: Hosted, role: Role, name: string): Promise<Hosted> {
  const { token } = await host.caller.ok<InvitationView>('POST', `/api/panels/${host.panel}/invitations`, {
    role,
  });
  const caller = new Caller(host.caller.app);
  await caller.ok('POST', '/api/invitations/accept', { token, name, passphrase: PASSPHRASE });
  return { caller, panel: host.panel };
}

/** A host with a panel of their own and no part in the first one. */
export async function strangeHost(host: Hosted, name = 'Stranger'): Promise<Hosted> {
  const helper = await host.caller.ok<PanelView>('POST', '/api/panels', { name: 'Elsewhere' });
  return invited({ caller: host.caller, panel: helper.id }, 'host', name);
}

/** A trial whose arms somebody has looked at and found fit to taste, on the day on which the server's clock starts. */
export async function newTrial(host: Hosted, change: Partial<TrialInput> = {}): Promise<TrialView> {
  const trial = await host.caller.ok<TrialView>(
    'POST',
    `/api/panels/${host.panel}/trials`,
    trialInput(change),
  );
  return foundFit((method, path, body) => host.caller.ok(method, path, body), trial, START);
}

export async function draft(
  host: Hosted,
  trial: TrialView,
  change: Partial<SessionSettings> = {},
): Promise<SessionView> {
  return host.caller.ok('POST', `/api/trials/${trial.id}/sessions`, settings(trial, change));
}

/** Moves a session on by these steps and returns it as the host sees it then. */
export async function moved(host: Hosted, session: SessionView, ...steps: string[]): Promise<SessionView> {
  let view = session;
  for (const step of steps) view = await host.caller.ok('POST', `/api/sessions/${session.id}/${step}`, {});
  return view;
}

/** A tablet that took a seat and confirmed the cautions. */
export async function seated(app: FastifyInstance, open: SessionView, seat: number): Promise<Caller> {
  const door = new Caller(app);
  await door.ok<JoinOffer>('POST', '/api/join', { code: open.join?.code });
  const taken = await door.ok<SeatTaken>('POST', '/api/join/seat', { code: open.join?.code, seat });
  const tablet = new Caller(app, taken.seatToken);
  await tablet.ok<SeatView>('POST', '/api/seat/cautions', {});
  return tablet;
}

/** The receipt of a seat, made on its device and told to the server, as its page does. */
export async function receiptOf(tablet: Caller): Promise<Caller> {
  const receiptToken = randomBytes(16).toString('base64url');
  await tablet.ok('POST', '/api/seat/receipt', { receiptToken });
  return new Caller(tablet.app, receiptToken);
}

/** Another device, by the way that host or seat left for it; `by` is a browser that may be signed in. */
export async function movedTo(
  app: FastifyInstance,
  { moveToken }: MoveOffer,
  by = new Caller(app),
): Promise<Caller> {
  const { seatToken } = await by.ok<SeatTaken>('POST', '/api/join/move', { token: moveToken });
  return new Caller(app, seatToken);
}
