import { PULSE_EVERY_MS, PULSE_SILENCE_MS, SIGN_IN_ENDED } from '@oddglass/shared/contracts/live.ts';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { z } from 'zod';
import { liveSocket, type LiveSocket, type LiveState } from '../../web/src/lib/live/socket.ts';

// The socket of a page without a browser or a network: sockets are made up, and time moves when a test says so.

/** A socket of a browser, moved from the other end by the test. */
class FakeSocket extends EventTarget {
  static readonly CONNECTING = 0;
  static readonly OPEN = 1;
  static readonly CLOSED = 3;
  readonly url: string;
  readonly protocols: string[] | undefined;
  readyState = FakeSocket.CONNECTING;
  onopen: (() => void) | null = null;
  onclose: ((event: { code: number }) => void) | null = null;
  onmessage: ((event: { data: unknown }) => void) | null = null;

  constructor(url: string | URL, protocols?: string[]) {
    super();
    this.url = String(url);
    this.protocols = protocols;
    sockets.push(this);
  }

  /** 1006: lost without a word, as browsers have it. */
  close(code = 1006): void {
    this.readyState = FakeSocket.CLOSED;
    this.onclose?.({ code });
  }
  open(): void {
    this.readyState = FakeSocket.OPEN;
    this.onopen?.();
  }
  say(value: unknown): void {
    this.onmessage?.({ data: typeof value === 'string' ? value : JSON.stringify(value) });
  }
}

let sockets: FakeSocket[];
let states: LiveState[];
let heard: number[];
let live: LiveSocket;
let page: EventTarget;
let sight: EventTarget & { visibilityState: 'visible' | 'hidden' };
/** More than any wait before another try. */
const LONGEST_WAIT_MS = 15_000;

const newest = (): FakeSocket => sockets.at(-1)!;
const message = z.strictObject({ seq: z.number() });

/** A page with a live socket on which messages `{ seq }` arrive. */
function start(url: string | (() => string) = '/api/live'): void {
  live = liveSocket({
    url,
    protocols: ['oddglass'],
    parse: (value) => message.parse(value),
    onMessage: ({ seq }) => heard.push(seq),
    onState: (state) => states.push(state),
  });
}
function look(state: 'visible' | 'hidden'): void {
  sight.visibilityState = state;
  sight.dispatchEvent(new Event('visibilitychange'));
}

beforeEach(() => {
  [sockets, states, heard] = [[], [], []];
  vi.useFakeTimers();
  page = new EventTarget();
  sight = Object.assign(new EventTarget(), { visibilityState: 'visible' as const });
  vi.stubGlobal('WebSocket', FakeSocket);
  vi.stubGlobal('location', { href: 'https://tasting.example/seat' });
  vi.stubGlobal('document', sight);
  vi.stubGlobal('addEventListener', page.addEventListener.bind(page));
  vi.stubGlobal('removeEventListener', page.removeEventListener.bind(page));
});
afterEach(() => {
  live.end();
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

describe('while all is well', () => {
  test('the address is that of this server, over the same kind of way; messages are handed on in order', () => {
    start();
    expect(newest()).toMatchObject({ url: 'wss://tasting.example/api/live', protocols: ['oddglass'] });
    newest().open();
    newest().say({ seq: 1 });
    newest().say({ seq: 2 });
    expect(heard).toEqual([1, 2]);
    expect(states).toEqual(['connecting', 'open']);
  });

  test('over plain http the socket is plain too', () => {
    vi.stubGlobal('location', { href: 'http://192.0.2.1:8080/seat' });
    start();
    expect(newest().url).toBe('ws://192.0.2.1:8080/api/live');
  });

  test('a pulse is no message, and keeps the way alive for as long as it comes', () => {
    start();
    newest().open();
    for (let beat = 0; beat < 20; beat++) {
      vi.advanceTimersByTime(PULSE_EVERY_MS);
      newest().say({ type: 'pulse' });
    }
    expect(heard).toEqual([]);
    expect(states).toEqual(['connecting', 'open']);
    expect(sockets).toHaveLength(1);
  });
});

describe('silence', () => {
  test('for longer than a pulse may take counts as a loss, and the page connects anew', () => {
    start();
    newest().open();
    newest().say({ seq: 1 });
    vi.advanceTimersByTime(PULSE_SILENCE_MS - 1);
    expect(states).toEqual(['connecting', 'open']);
    vi.advanceTimersByTime(1);
    expect(states).toEqual(['connecting', 'open', 'away']);
    expect(newest().readyState).toBe(FakeSocket.CLOSED);
    vi.advanceTimersByTime(LONGEST_WAIT_MS);
    expect(sockets).toHaveLength(2);
    newest().open();
    newest().say({ seq: 2 });
    expect(heard).toEqual([1, 2]);
    expect(states.slice(3)).toEqual(['connecting', 'open']);
  });

  test('is counted from the opening when nothing at all is heard', () => {
    start();
    vi.advanceTimersByTime(PULSE_SILENCE_MS / 2);
    newest().open();
    vi.advanceTimersByTime(PULSE_SILENCE_MS - 1);
    expect(states.at(-1)).toBe('open');
    vi.advanceTimersByTime(1);
    expect(states.at(-1)).toBe('away');
  });

  test('of a socket that was left behind says nothing of the one in use', () => {
    start();
    newest().open();
    vi.advanceTimersByTime(PULSE_SILENCE_MS - 1000);
    live.reconnect();
    newest().open();
    vi.advanceTimersByTime(PULSE_SILENCE_MS - 1000);
    expect(states.at(-1)).toBe('open');
    expect(sockets).toHaveLength(2);
  });
});

describe('a message outside the contract', () => {
  test.each([
    ['of an unknown form', { seq: 'two' }],
    ['with more than is known', { seq: 2, arm: 'Warm' }],
    ['that is not JSON', '{"seq":'],
  ])('%s counts as a loss: nothing after it is believed, and the page connects anew', (_name, strange) => {
    start();
    const first = newest();
    first.open();
    first.say({ seq: 1 });
    first.say(strange);
    expect(states).toEqual(['connecting', 'open', 'away']);
    expect(first.readyState).toBe(FakeSocket.CLOSED);
    first.say({ seq: 3 });
    expect(heard).toEqual([1]);
    vi.advanceTimersByTime(LONGEST_WAIT_MS);
    expect(sockets).toHaveLength(2);
    newest().open();
    newest().say({ seq: 2 });
    expect(heard).toEqual([1, 2]);
  });
});

describe('a loss', () => {
  test('is tried again after waits that grow, until a message proves the way', () => {
    start();
    const waits = [];
    for (let attempt = 0; attempt < 6; attempt++) {
      // A socket that opens and falls at once proves nothing.
      newest().open();
      const before = sockets.length;
      newest().close();
      let waited = 0;
      for (; sockets.length === before; waited += 10) vi.advanceTimersByTime(10);
      waits.push(waited);
    }
    // Doubling from half a second, scattered over the upper half.
    waits.forEach((waited, attempt) => {
      const ceiling = 500 * 2 ** attempt;
      expect(waited).toBeGreaterThanOrEqual(Math.min(15_000, ceiling) / 2);
      expect(waited).toBeLessThanOrEqual(Math.min(15_000, ceiling) + 10);
    });
    newest().open();
    newest().say({ seq: 1 });
    newest().close();
    vi.advanceTimersByTime(500);
    expect(newest().readyState).toBe(FakeSocket.CONNECTING);
  });

  test('asks for the address again, so that it can name the last event seen', () => {
    let after = 0;
    start(() => `/api/live?after=${after}`);
    newest().open();
    after = 7;
    newest().close();
    vi.advanceTimersByTime(500);
    expect(sockets.map(({ url }) => url.slice(-7))).toEqual(['after=0', 'after=7']);
  });

  test('of the network is told at once, and made good at once when it is back', () => {
    start();
    newest().open();
    page.dispatchEvent(new Event('offline'));
    expect(states.at(-1)).toBe('away');
    page.dispatchEvent(new Event('online'));
    expect(sockets).toHaveLength(2);
    expect(states.at(-1)).toBe('connecting');
    // The try that was waiting is off.
    vi.advanceTimersByTime(LONGEST_WAIT_MS);
    expect(sockets).toHaveLength(2);
  });

  test('an address the browser will not open is tried again, too', () => {
    let open = false;
    vi.stubGlobal(
      'WebSocket',
      class extends FakeSocket {
        constructor(url: string | URL, protocols?: string[]) {
          if (!open) throw new SyntaxError('no socket');
          super(url, protocols);
        }
      },
    );
    start();
    expect(states).toEqual(['connecting', 'away']);
    open = true;
    vi.advanceTimersByTime(500);
    expect(sockets).toHaveLength(1);
  });
});

describe('a page that was hidden', () => {
  test.each([
    [20_000, 1, 'is trusted'],
    [20_001, 2, 'is often dead without knowing it'],
  ])('for %i ms: a socket that looks open %s', (asleep, count) => {
    start();
    newest().open();
    look('hidden');
    vi.setSystemTime(Date.now() + asleep);
    look('visible');
    expect(sockets).toHaveLength(count);
  });

  test('connects at once when its socket is closed', () => {
    start();
    newest().open();
    look('hidden');
    newest().close();
    look('visible');
    expect(sockets).toHaveLength(2);
  });
});

test('an ended socket stays closed, whatever happens to the page', () => {
  start();
  newest().open();
  live.end();
  expect(states).toEqual(['connecting', 'open', 'ended']);
  live.reconnect();
  page.dispatchEvent(new Event('online'));
  page.dispatchEvent(new Event('offline'));
  look('visible');
  vi.advanceTimersByTime(10 * PULSE_SILENCE_MS);
  newest().say({ seq: 1 });
  expect(sockets).toHaveLength(1);
  expect(heard).toEqual([]);
  expect(states).toEqual(['connecting', 'open', 'ended']);
});

test('a socket that the server closes because the sign-in has ended says so, and is not tried again', () => {
  const onSignInEnded = vi.fn();
  live = liveSocket({
    url: '/api/live',
    parse: (value) => message.parse(value),
    onMessage: ({ seq }) => heard.push(seq),
    onState: (state) => states.push(state),
    onSignInEnded,
  });
  newest().open();
  newest().close(SIGN_IN_ENDED);
  vi.advanceTimersByTime(LONGEST_WAIT_MS);
  look('visible');
  expect(sockets).toHaveLength(1);
  expect(states).toEqual(['connecting', 'open', 'ended']);
  expect(onSignInEnded).toHaveBeenCalledOnce();
});
