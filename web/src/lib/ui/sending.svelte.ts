import { ApiProblem } from '#lib/api/client.ts';
import { onMount, tick } from 'svelte';

/** A field that needs another look, found before anything was sent. */
export type FieldNotes = Record<string, string>;

/** One form's way to the server: busy or not, what went wrong, and where. Made while its component is. */
export class Sending {
  /** A request of this form has not been answered yet. */
  underway = $state(false);
  #running = $state(false);
  /** The last refusal; undefined when there was none. */
  reason = $state.raw<unknown>(undefined);
  #notes = $state.raw<FieldNotes>({});

  constructor() {
    onMount(() => {
      this.#running = true;
    });
  }

  /**
   * Its buttons wait: for an answer, or for the page to run. A form sent before that would be sent by the
   * browser, which reloads the page and loses what was typed.
   */
  get busy(): boolean {
    return this.underway || !this.#running;
  }

  /** What to say at the field that a JSON pointer such as '#/arms/1/name' names. */
  at(pointer: string): string | undefined {
    if (this.#notes[pointer] !== undefined) return this.#notes[pointer];
    return this.reason instanceof ApiProblem ? this.reason.at(pointer) : undefined;
  }

  /** Some field has something to say. */
  get hasNotes(): boolean {
    return Object.keys(this.#notes).length > 0;
  }

  /** Says at fields what they need, before anything is sent. */
  async refuse(notes: FieldNotes, form?: HTMLElement): Promise<void> {
    this.reason = undefined;
    this.#notes = notes;
    await focusFirstError(form);
  }

  /**
   * Runs one request at a time; true when it went through. A refusal is kept to be shown, and the first
   * field it names gets the focus.
   */
  async run(work: () => Promise<void>, form?: HTMLElement): Promise<boolean> {
    if (this.underway) return false;
    this.underway = true;
    this.reason = undefined;
    this.#notes = {};
    try {
      await work();
      return true;
    } catch (reason) {
      this.reason = reason;
      return false;
    } finally {
      this.underway = false;
      if (this.reason !== undefined) await focusFirstError(form);
    }
  }

  /** Forgets what went wrong, for example when a dialog is opened again. */
  clear(): void {
    this.reason = undefined;
    this.#notes = {};
  }
}

async function focusFirstError(form: HTMLElement | undefined): Promise<void> {
  await tick();
  form?.querySelector<HTMLElement>('[aria-invalid="true"]')?.focus();
}
