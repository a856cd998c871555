import { connect, createServer, type Server, type Socket } from 'node:net';

/**
 * A way to the database that a test can hold up: frozen, nothing passes and nobody is told; cut, every connection
 * breaks; refused, no new one is made.
 */
export class Wire {
  readonly #target: URL;
  readonly #server: Server;
  readonly #pairs = new Set<[Socket, Socket]>();
  #frozen = false;
  #refused = false;

  private constructor(databaseUrl: string) {
    this.#target = new URL(databaseUrl);
    this.#server = createServer((near) => this.#take(near));
  }

  static async to(databaseUrl: string): Promise<Wire> {
    const wire = new Wire(databaseUrl);
    await new Promise<void>((resolve) => wire.#server.listen(0, '127.0.0.1', resolve));
    return wire;
  }

  get url(): string {
    const address = this.#server.address();
    const url = new URL(this.#target);
    url.port = String(typeof address === 'object' && address ? address.port : 0);
    return url.href;
  }

  freeze(): void {
    this.#frozen = true;
    for (const pair of this.#pairs) still(pair);
  }

  thaw(): void {
    this.#frozen = false;
    for (const pair of this.#pairs) join(pair);
  }

  cut(): void {
    for (const [near] of this.#pairs) near.destroy();
  }

  /** Breaks what there is and refuses what comes, until `restore`. */
  refuse(): void {
    this.#refused = true;
    this.cut();
  }

  restore(): void {
    this.#refused = false;
  }

  async close(): Promise<void> {
    this.cut();
    await new Promise((resolve) => this.#server.close(resolve));
  }

  #take(near: Socket): void {
    if (this.#refused) {
      near.destroy();
      return;
    }
    const pair: [Socket, Socket] = [near, connect(Number(this.#target.port), this.#target.hostname)];
    this.#pairs.add(pair);
    for (const side of pair) {
      side.on('error', () => undefined);
      side.on('close', () => {
        this.#pairs.delete(pair);
        for (const other of pair) other.destroy();
      });
    }
    if (!this.#frozen) join(pair);
  }
}

function join([near, far]: [Socket, Socket]): void {
  near.pipe(far);
  far.pipe(near);
}

function still([near, far]: [Socket, Socket]): void {
  near.unpipe(far).pause();
  far.unpipe(near).pause();
}
