import type { DeskBallot, DeskView } from '@oddglass/shared/contracts/paper.ts';
import { groupedNumber, readBallotNumber } from '@oddglass/shared/paper/ballot-number.ts';
import { readField } from '@oddglass/shared/paper/field.ts';
import { paperForm, placesOf, type PaperForm } from '@oddglass/shared/paper/form.ts';
import { ApiProblem, type Fetch } from '#lib/api/client.ts';
import { getBallot, getDesk, sendEntry } from '#lib/api/paper.ts';

export interface DeskOptions {
  fetch: Fetch;
  token: string;
  /** A fresh UUID for an entry. */
  newId: () => string;
}

/** A ballot in hand: its places, and what is typed into them. */
export interface InHand {
  ballot: DeskBallot;
  form: PaperForm;
  /** Only the places that differ, or all of them. */
  groups: ReturnType<typeof placesOf>;
}

/**
 * The desk at which ballots on paper are entered: the stack as it stands, and the ballot in hand. An entry keeps its id until
 * the server has it, so that sending it again after a lost answer counts once.
 */
export class Desk {
  view: DeskView | null = $state.raw(null);
  hand: InHand | null = $state.raw(null);
  values: Record<string, string> = $state({});
  /** What to say at a place that cannot be read, by its id. */
  notes: Record<string, string> = $state({});
  /** What is the matter with the number that was typed. */
  numberNote = $state('');
  /** What was just done, for the line above the stack. */
  said = $state('');
  trouble: unknown = $state.raw(undefined);
  busy = $state(false);
  readonly #options: DeskOptions;
  #entryId = '';

  constructor(options: DeskOptions) {
    this.#options = options;
  }

  /** Reads how the stack stands. */
  async look(): Promise<void> {
    await this.#run(async () => {
      this.view = await getDesk(this.#options.fetch, this.#options.token);
    });
  }

  /** Takes the ballot in hand whose number was typed or scanned. */
  async find(typed: string): Promise<void> {
    this.numberNote = '';
    const read = readBallotNumber(typed, this.view?.root ?? '');
    if ('trouble' in read) {
      this.numberNote = read.trouble;
      return;
    }
    await this.take(read.seat);
  }

  async take(seat: number): Promise<void> {
    await this.#run(async () => {
      this.#hold(await getBallot(this.#options.fetch, this.#options.token, seat));
      this.said = '';
    });
    // What is said of a ballot is said at its number.
    if (this.hand === null && this.trouble instanceof ApiProblem && this.trouble.problem.status !== 401) {
      this.numberNote = this.trouble.problem.detail;
      this.trouble = undefined;
    }
  }

  putBack(): void {
    this.hand = null;
    this.trouble = undefined;
  }

  /** Reads one place when it is left; what cannot be read is said there. */
  check(id: string): boolean {
    const field = this.hand?.groups.flatMap(({ fields }) => fields).find((one) => one.id === id);
    if (!field) return true;
    const read = readField(field, this.values[id] ?? '');
    this.notes[id] = 'trouble' in read ? read.trouble : '';
    if ('text' in read) this.values[id] = read.text;
    return 'text' in read;
  }

  /** Sends the entry; false where a place has something to say, which is its id in `firstNote`. */
  async enter(): Promise<boolean> {
    const { hand } = this;
    if (!hand || this.busy) return false;
    const ids = hand.groups.flatMap(({ fields }) => fields).map(({ id }) => id);
    const readable = ids.map((id) => this.check(id)).every(Boolean);
    if (!readable) return false;
    const { ballot } = hand;
    const values = { ...ballot.differing?.first, ...$state.snapshot(this.values) };
    let done = false;
    await this.#run(async () => {
      const body = { id: this.#entryId, step: ballot.due, values };
      const after = await sendEntry(this.#options.fetch, this.#options.token, ballot.seat, body);
      done = true;
      this.said = saidOf(after, ballot);
      if (after.state === 'differs') this.#hold(after);
      else this.hand = null;
      this.view = await getDesk(this.#options.fetch, this.#options.token);
    });
    this.#takeNotes();
    return done;
  }

  get firstNote(): string | undefined {
    return Object.keys(this.notes).find((id) => this.notes[id] !== '');
  }

  #hold(ballot: DeskBallot): void {
    const { session, trays, words, differing, due, counting } = ballot;
    const form = paperForm({ parts: session.parts, trays, words, smellOnly: session.smellOnly });
    const groups = placesOf(form)
      .map(({ heading, fields }) => ({
        heading,
        fields: fields.filter(({ id }) => !differing || differing.ids.includes(id)),
      }))
      .filter(({ fields }) => fields.length > 0);
    this.#entryId = this.#options.newId();
    this.notes = {};
    this.values = due === 'corrected' ? { ...counting } : {};
    this.hand = { ballot, form, groups };
  }

  #takeNotes(): void {
    if (!(this.trouble instanceof ApiProblem)) return;
    for (const { pointer, detail } of this.trouble.problem.errors ?? []) {
      const id = /^#\/values\/(.+)$/.exec(pointer)?.[1];
      if (id !== undefined) this.notes[id] = detail;
    }
  }

  async #run(work: () => Promise<void>): Promise<void> {
    this.busy = true;
    this.trouble = undefined;
    try {
      await work();
    } catch (reason) {
      this.trouble = reason;
    } finally {
      this.busy = false;
    }
  }
}

/** What an entry came to, in a sentence. */
function saidOf(after: DeskBallot, before: DeskBallot): string {
  const which = `Ballot ${groupedNumber(after.number)}, seat ${after.seat}`;
  if (after.state === 'once') return `${which}: entered once. Put it on the pile for the second entry.`;
  if (after.state === 'differs') return `${which}: the two entries differ. Look at the sheet.`;
  return before.due === 'corrected' ? `${which}: the correction counts.` : `${which}: counts.`;
}
