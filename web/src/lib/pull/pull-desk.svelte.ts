import { getPulls, sendReading } from '#lib/api/pull.ts';
import { ApiProblem } from '#lib/api/client.ts';
import { retryDelay } from '#lib/live/retry-delay.ts';
import { randomId } from '#lib/seat/door/random-id.ts';
import type { PullView, TrialPulls } from '@oddglass/shared/contracts/pull.ts';
import type { ReadingView } from '@oddglass/shared/contracts/reading.ts';
import { readingValues } from '@oddglass/shared/fermentation/reading-values.ts';
import { typedNumber } from '@oddglass/shared/fermentation/typed-number.ts';
import { firstBrix, lastValues } from '@oddglass/shared/notebook/last-reading.ts';
import { questionsOf, type Question } from '@oddglass/shared/notebook/plausible.ts';
import { recallPull, rememberPull } from './kept-pulls.ts';
import { pressed, type PadKey } from './keypad.ts';
import { momentNow } from './moment-now.ts';
import {
  draftOf,
  emptyDraft,
  isBegun,
  readingOf,
  typedOf,
  type KeptPull,
  type PadField,
  type ReadingDraft,
  type WordField,
} from './reading-draft.ts';
import { decimalMark, recallUnits, rememberUnits, type Units } from './units.ts';

const newId = (): string => randomId((bytes) => crypto.getRandomValues(bytes));

/** One pull on this device: what is typed, what waits for the server, and what the server has. */
export class PullDesk {
  readonly #actor: string;
  readonly #pullId: string;
  trial = $state.raw<TrialPulls>() as TrialPulls;
  kept = $state.raw<KeptPull>() as KeptPull;
  /** Arms whose fold is open. */
  open = $state<Record<string, boolean>>({});
  storeRefused = $state(false);
  sending = $state(false);
  away = $state(false);
  /** What keeps an arm from being sent, in words. */
  notes = $state<Record<string, string>>({});
  #attempt = 0;
  #timer: ReturnType<typeof setTimeout> | undefined;
  mark = $state<'.' | ','>('.');

  constructor(actor: string, pullId: string, trial: TrialPulls) {
    this.#actor = actor;
    this.#pullId = pullId;
    this.trial = trial;
    this.kept = this.#nothing(recallUnits());
  }

  #nothing(units: Units): KeptPull {
    return {
      trial: this.trial.trial,
      pull: this.#pullId,
      name: this.pull.name,
      drafts: {},
      waiting: [],
      units,
    };
  }

  /** In the browser: what was kept here before, and on its way. */
  start(): () => void {
    this.mark = decimalMark();
    this.kept = recallPull(this.#actor, this.#pullId) ?? this.#nothing(recallUnits());
    const again = (): void => void this.flush();
    addEventListener('online', again);
    again();
    return () => {
      removeEventListener('online', again);
      clearTimeout(this.#timer);
    };
  }

  get pull(): PullView {
    const found = this.trial.pulls.find(({ id }) => id === this.#pullId);
    if (!found) throw new Error('the pull is not of this trial');
    return found;
  }

  /** When the sample is taken: now, or where the pull itself says when. */
  get takenAt(): string {
    const { when } = this.pull;
    return when.kind === 'unplanned' ? when.at : momentNow();
  }

  current(arm: string): ReadingView | undefined {
    return this.pull.readings.find((one) => one.arm === arm && one.current);
  }
  waiting(arm: string) {
    return this.kept.waiting.find((one) => one.arm === arm);
  }
  draft(arm: string): ReadingDraft | undefined {
    return this.kept.drafts[arm];
  }
  /** Its fields are open: nothing is stored or on its way, or it is being put right. */
  editable(arm: string): boolean {
    return !this.waiting(arm) && (!this.current(arm) || this.draft(arm)?.replaces === this.current(arm)?.id);
  }

  #keep(change: Partial<KeptPull>): void {
    this.kept = { ...this.kept, ...change };
    this.storeRefused = !rememberPull(this.#actor, this.kept);
  }

  #change(arm: string, change: Partial<ReadingDraft>): void {
    const before = this.draft(arm) ?? this.#fresh(arm);
    this.#keep({ drafts: { ...this.kept.drafts, [arm]: { ...before, ...change } } });
    delete this.notes[arm];
  }

  #fresh(arm: string): ReadingDraft {
    const first = firstBrix(
      this.trial.pulls.flatMap(({ readings }) => readings),
      arm,
      (text) => typedNumber(text)?.value ?? null,
    );
    return { ...emptyDraft(newId(), this.kept.units), originalBrix: first === null ? '' : String(first) };
  }

  /** What was confirmed belongs to the numbers as they were: another number is asked about anew. */
  type(arm: string, field: PadField | WordField, text: string): void {
    const words = ['added', 'looks', 'smell', 'note'].includes(field);
    this.#change(arm, { [field]: text, ...(!words && { confirmed: [] }) });
  }

  press(arm: string, field: PadField, key: PadKey): void {
    const { gravity } = this.draft(arm)?.how ?? this.kept.units;
    const kind = field === 'ph' ? 'ph' : field === 'gravity' && gravity === 'sg' ? 'sg' : 'plain';
    this.type(arm, field, pressed(this.draft(arm)?.[field] ?? '', key, kind, this.mark));
  }

  /** For what is typed from now on: fields that hold something keep the unit in which it was typed. */
  setUnits(change: Partial<Units>): void {
    const units = { ...this.kept.units, ...change };
    const drafts = Object.fromEntries(
      Object.entries(this.kept.drafts).map(([arm, draft]) => [
        arm,
        { ...draft, how: howAfter(draft, units) },
      ]),
    );
    rememberUnits(units);
    this.#keep({ units, drafts });
  }

  correct(arm: string): void {
    const current = this.current(arm);
    if (!current) return;
    const draft = draftOf(current, newId(), current.id, this.kept.units);
    this.#keep({ drafts: { ...this.kept.drafts, [arm]: draft } });
  }
  leave(arm: string): void {
    const { [arm]: _left, ...drafts } = this.kept.drafts;
    this.#keep({ drafts });
  }

  last(arm: string) {
    const readings = this.trial.pulls.filter(({ id }) => id !== this.#pullId).flatMap((one) => one.readings);
    return lastValues(readings, arm, this.takenAt);
  }

  /** What seems odd, and nobody has said yet that it stands. */
  questions(arm: string): Question[] {
    const draft = this.draft(arm);
    if (!draft || !this.editable(arm)) return [];
    const asked = questionsOf(typedOf(draft), {
      before: this.last(arm),
      leftMl: this.trial.arms.find(({ id }) => id === arm)?.volumeMl ?? null,
      takenAt: this.takenAt,
      now: momentNow(),
      decimal: this.mark,
    });
    return asked.filter(({ question }) => !draft.confirmed.some((one) => one.question === question));
  }

  /** 'Yes': what was meant takes the place of what was typed, in this arm. */
  accept(arm: string, { offer }: Question): void {
    const draft = this.draft(arm);
    if (!offer || !draft) return;
    const { ph, gravity, temperature, taken } = offer.typed;
    this.#change(arm, {
      how: {
        ...draft.how,
        ...(gravity && { gravity: gravity.unit }),
        ...(temperature && { temperature: temperature.unit }),
        ...(taken && { volume: taken.unit }),
      },
      ...(ph && { ph: ph.text }),
      ...(gravity && { gravity: gravity.text }),
      ...(temperature && { temperature: temperature.text }),
      ...(taken && { taken: taken.text }),
    });
  }
  /** 'No, keep it': that is stored with the reading. */
  confirm(arm: string, { question, asked }: Question): void {
    const confirmed = this.draft(arm)?.confirmed ?? [];
    this.#change(arm, { confirmed: [...confirmed, { question, asked: asked.slice(0, 300) }] });
  }

  get begun(): string[] {
    return this.trial.arms
      .map(({ id }) => id)
      .filter((arm) => {
        const draft = this.draft(arm);
        return draft !== undefined && this.editable(arm) && isBegun(draft);
      });
  }

  /** Begun arms without an open question go to the server; what waits is kept here until it has them. */
  async send(): Promise<void> {
    const takenAt = this.takenAt;
    const ready: KeptPull['waiting'] = [];
    for (const arm of this.begun) {
      const draft = this.draft(arm);
      if (!draft) continue;
      const { noNumber } = readingValues(typedOf(draft));
      const read = readingOf(draft, this.current(arm)?.takenAt ?? takenAt);
      if (noNumber.length > 0) this.notes[arm] = `This is no number: ${draft[noNumber[0] ?? 'ph']}`;
      else if (!read.success) this.notes[arm] = read.error.issues.map(({ message }) => message).join(' ');
      else if (this.questions(arm).length > 0) this.notes[arm] = 'Answer the question first.';
      else ready.push({ arm, reading: read.data, refused: null });
    }
    const gone = ready.map(({ arm }) => arm);
    const drafts = Object.fromEntries(
      Object.entries(this.kept.drafts).filter(([arm]) => !gone.includes(arm)),
    );
    this.#keep({ drafts, waiting: [...this.kept.waiting, ...ready] });
    await this.flush();
  }

  /** Tries everything that waits, once; again later while the network is away. */
  async flush(): Promise<void> {
    if (this.sending) return;
    clearTimeout(this.#timer);
    this.sending = true;
    this.away = false;
    for (const { arm, reading, refused } of this.kept.waiting) {
      if (refused !== null) continue;
      try {
        await sendReading(fetch, this.#pullId, arm, reading);
        this.#keep({ waiting: this.kept.waiting.filter((one) => one.reading.id !== reading.id) });
      } catch (reason) {
        if (reason instanceof ApiProblem && reason.problem.status < 500 && reason.problem.status !== 429)
          this.#refuse(reading.id, reason.problem.detail);
        else this.away = true;
      }
    }
    await this.#refresh();
    this.sending = false;
    if (this.away)
      this.#timer = setTimeout(() => void this.flush(), retryDelay(this.#attempt++, Math.random()));
    else this.#attempt = 0;
  }

  #refuse(readingId: string, detail: string): void {
    this.#keep({
      waiting: this.kept.waiting.map((one) =>
        one.reading.id === readingId ? { ...one, refused: detail } : one,
      ),
    });
  }

  /** The person has read why it was refused: its values go back into the fields, under an id of its own. */
  takeBack(arm: string): void {
    const waiting = this.waiting(arm);
    if (!waiting) return;
    const replaces = this.current(arm)?.id ?? null;
    const draft = draftOf(waiting.reading, newId(), replaces, this.kept.units);
    this.#keep({
      drafts: { ...this.kept.drafts, [arm]: draft },
      waiting: this.kept.waiting.filter((one) => one.arm !== arm),
    });
  }

  async #refresh(): Promise<void> {
    try {
      this.trial = await getPulls(fetch, this.trial.trial);
    } catch {
      // What is shown is older; the next try tells.
    }
  }
}

function howAfter(draft: ReadingDraft, units: Units): Units {
  if (draft.replaces !== null) return draft.how;
  const { gravity, instrument, hydrometerC, wortFactor } = draft.gravity === '' ? units : draft.how;
  return {
    gravity,
    instrument,
    hydrometerC,
    wortFactor,
    temperature: draft.temperature === '' ? units.temperature : draft.how.temperature,
    volume: draft.taken === '' ? units.volume : draft.how.volume,
    meterCalibratedOn: units.meterCalibratedOn,
  };
}
