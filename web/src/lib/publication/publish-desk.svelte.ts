import {
  publishInput,
  publishNew,
  type PublicationView,
  type PublishDraft,
  type PublishPreview,
} from '@oddglass/shared/contracts/publishing.ts';
import { isMail, type DepositDraft } from '@oddglass/shared/contracts/deposit.ts';
import type { Licence } from '@oddglass/shared/contracts/publication.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { previewPublication, publish, publishVersion } from '#lib/api/publication.ts';
import { fieldNotes } from '#lib/ui/field-notes.ts';
import { Sending } from '#lib/ui/sending.svelte.ts';

const WAIT_MS = 700;

/** The key of a deviation's answer. */
export const caveatKey = ({ armId, on, text }: { armId: string; on: string; text: string }): string =>
  JSON.stringify([armId, on, text]);

/** A publication while its host decides: what is chosen, what readers would get, and what still stands against it. */
export class PublishDesk extends Sending {
  readonly trial: TrialView;
  /** The publication that gets a new version; null for a new one. */
  readonly of: PublicationView | null;
  title = $state('');
  sessionIds = $state<string[]>([]);
  armNames = $state<Record<string, string>>({});
  licence = $state<Licence>('CC-BY-4.0');
  passed = $state<string[]>([]);
  answers = $state<Record<string, string>>({});
  /** Does the record of the trial go along, and which of its texts? */
  recordIncluded = $state(true);
  recordTexts = $state<string[]>([]);
  agreeSmall = $state(false);
  /** For archives. */
  deposit = $state<DepositDraft>({ doi: '', contact: '', contactPublic: false, related: [] });
  address = $state('');
  listed = $state(false);
  preview = $state.raw<PublishPreview | null>(null);
  /** The preview is older than what is chosen. */
  stale = $state(true);
  previewTrouble = $state.raw<unknown>(undefined);
  /** The host asked to publish once: from then on every field says what it needs. */
  tried = $state(false);
  #timer: ReturnType<typeof setTimeout> | undefined;
  #asked = 0;
  /** Texts of the record that were offered before: what the host does with them is not undone. */
  #offered: string[] = [];

  constructor(trial: TrialView, of: PublicationView | null) {
    super();
    this.trial = trial;
    this.of = of;
    const revealed = trial.sessions.filter(({ state }) => state === 'revealed');
    const before = of?.choices;
    this.title = before?.title ?? trial.title;
    this.sessionIds =
      before?.sessionIds.filter((id) => revealed.some((one) => one.id === id)) ??
      revealed.slice(0, 12).map(({ id }) => id);
    this.armNames = Object.fromEntries(trial.arms.map(({ id, name }) => [id, before?.armNames[id] ?? name]));
    this.licence = before?.licence ?? 'CC-BY-4.0';
    this.passed = [...(before?.comments ?? [])];
    this.answers = Object.fromEntries(
      (before?.caveatAnswers ?? []).map((one) => [caveatKey(one), one.answer]),
    );
    this.recordIncluded = before?.record.include ?? true;
    this.recordTexts = [...(before?.record.texts ?? [])];
    // A DOI names one version: a newer one has another.
    if (before?.deposit) {
      const { contact, contactPublic, related } = before.deposit;
      this.deposit = { doi: '', contact, contactPublic, related: related.map((work) => ({ ...work })) };
    }
    // A group of fewer than five is agreed to anew each time.
  }

  /** What is chosen, as the server wants it; reading it makes an effect follow every field. */
  get draft(): PublishDraft {
    const caveats = this.preview?.caveats ?? this.of?.choices?.caveatAnswers ?? [];
    const lines = this.preview?.commentLines;
    const texts = this.preview?.recordTexts;
    return {
      title: this.title,
      sessionIds: [...this.sessionIds],
      armNames: { ...this.armNames },
      licence: this.licence,
      comments: this.passed.filter((line) => lines?.some((one) => one.line === line && one.passable) ?? true),
      caveatAnswers: caveats.map(({ armId, on, text }) => ({
        armId,
        on,
        text,
        answer: this.answers[caveatKey({ armId, on, text })] ?? '',
      })),
      record: {
        include: this.recordIncluded,
        texts: this.recordTexts.filter(
          (text) => texts?.some((one) => one.text === text && one.passable) ?? true,
        ),
      },
      agreeSmall: this.agreeSmall,
      deposit: this.#depositChosen(),
      ...(this.of !== null && { publicationId: this.of.id }),
    };
  }

  /** What is for archives; the tick stands for an e-mail address alone. */
  #depositChosen(): DepositDraft {
    const { doi, contact, contactPublic, related } = this.deposit;
    return {
      doi,
      contact,
      contactPublic: contactPublic && isMail(contact.trim()),
      related: related.map((work) => ({ ...work })),
    };
  }

  /** Reads the preview again soon; several changes at once ask once. */
  changed(): void {
    this.stale = true;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.read(), WAIT_MS);
  }

  end(): void {
    clearTimeout(this.#timer);
    this.#asked += 1;
  }

  async read(): Promise<void> {
    clearTimeout(this.#timer);
    const mine = ++this.#asked;
    if (this.sessionIds.length === 0) {
      this.preview = null;
      this.stale = false;
      return;
    }
    try {
      const preview = await previewPublication(fetch, this.trial.id, this.draft);
      if (mine !== this.#asked) return;
      this.preview = preview;
      this.#offer(preview.recordTexts);
      this.previewTrouble = undefined;
      this.stale = false;
    } catch (reason) {
      if (mine === this.#asked) this.previewTrouble = reason;
    }
  }

  /** Names of things go along from the first look on, where nothing in them may name somebody; the host takes out what should not. */
  #offer(texts: PublishPreview['recordTexts']): void {
    const fresh = texts.filter(({ text }) => !this.#offered.includes(text));
    this.#offered.push(...fresh.map(({ text }) => text));
    // A newer version starts from what was chosen for the one before.
    if (this.of?.choices) return;
    for (const { text, note, flags, passable } of fresh) {
      const goes = !note && passable && flags.length === 0 && !this.recordTexts.includes(text);
      if (goes) this.recordTexts.push(text);
    }
  }

  /** What stands against publishing, in words, each once. */
  get refusals(): string[] {
    if (this.sessionIds.length === 0) return ['Choose at least one revealed session.'];
    const said = (this.preview?.refusals ?? []).map(({ detail }) => detail);
    return said.filter((detail, at) => said.indexOf(detail) === at);
  }

  get ready(): boolean {
    return (
      !this.stale &&
      this.preview !== null &&
      this.preview.publication !== null &&
      this.preview.refusals.length === 0
    );
  }

  /** What to say at a field: what was refused, and what the preview says once the host tried, or where nothing else would help. */
  note(pointer: string, always = false): string | undefined {
    const told = this.at(pointer);
    if (told !== undefined) return told;
    if (!always && !this.tried) return undefined;
    return this.preview?.refusals.find((one) => one.pointer === pointer)?.detail;
  }

  /** What a session is refused for. */
  sessionNote(sessionId: string): string | undefined {
    return this.note(`#/sessionIds/${this.sessionIds.indexOf(sessionId)}`, true);
  }

  /** Publishes, or says at fields what they need; the publication when it went through. */
  async publish(form?: HTMLElement): Promise<PublicationView | null> {
    this.tried = true;
    const body = { ...this.draft };
    delete body.publicationId;
    const address = this.address.trim();
    const read = this.of
      ? publishInput.safeParse(body)
      : publishNew.safeParse({ ...body, listed: this.listed, ...(address !== '' && { address }) });
    if (!read.success) {
      await this.refuse(fieldNotes(read.error), form);
      return null;
    }
    let published: PublicationView | null = null;
    const of = this.of;
    await this.run(async () => {
      published = of
        ? await publishVersion(fetch, of.id, read.data)
        : await publish(fetch, this.trial.id, read.data);
    }, form);
    return published;
  }
}
