import { refreshAll } from '$app/navigation';
import { ApiProblem } from '#lib/api/client.ts';
import { actOnSession } from '#lib/api/session.ts';
import { Sending } from '#lib/ui/sending.svelte.ts';

type Step = Parameters<typeof actOnSession>[2];

/** One step of a session behind one button: asked in a dialog, done, and the page read again. */
export class SessionStep extends Sending {
  /** The dialog that asks is open. */
  asking = $state(false);
  readonly #session: string;
  readonly #step: Step;

  constructor(session: string, step: Step) {
    super();
    this.#session = session;
    this.#step = step;
  }

  ask(): void {
    this.clear();
    this.asking = true;
  }

  async take(how?: Parameters<typeof actOnSession>[3]): Promise<void> {
    const went = await this.run(async () => {
      await actOnSession(fetch, this.#session, this.#step, how);
      await refreshAll();
    });
    if (went) this.asking = false;
    // Somebody else moved the session on: show where it stands.
    else if (this.reason instanceof ApiProblem && this.reason.name === 'wrong-state') await refreshAll();
  }
}
