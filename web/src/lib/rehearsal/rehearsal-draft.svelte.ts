import type { Attribute } from '@oddglass/shared/contracts/part.ts';
import { rehearsalInput, type RehearsalInput } from '@oddglass/shared/contracts/rehearsal.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { workloadPerSeat } from '@oddglass/shared/rules/parts.ts';
import { fieldNotes } from '#lib/ui/field-notes.ts';
import { CARES, DIFFERENCES, LEAVINGS, PACES, POSITIONS } from './rehearsal-words.ts';

/** The people of a rehearsal as a form has them: words first, numbers for whoever wants them. */
export class RehearsalDraft {
  readonly attributes: readonly Attribute[];
  readonly seats: number;
  /** Answers that each seat is asked for. */
  readonly sheets: number;
  people = $state<number | null>(null);
  difference = $state('medium');
  dPrime = $state<number | null>(null);
  care = $state('careful');
  leaving = $state('nobody');
  position = $state('none');
  pace = $state('brisk');
  /** By id of the attribute, in units of its scale; null: as the difference has it. */
  steps = $state<Record<string, number | null>>({});
  seed = $state('');
  tried = $state(false);

  constructor(settings: SessionSettings) {
    const { assessors, spareSeats, parts } = settings;
    const rated = parts.flatMap((part) => (part.kind === 'rating' ? part.attributes : []));
    // Two parts may ask for the same.
    this.attributes = rated.filter(({ id }, at) => rated.findIndex((one) => one.id === id) === at);
    this.steps = Object.fromEntries(this.attributes.map(({ id }) => [id, null]));
    this.seats = assessors + spareSeats;
    this.sheets = workloadPerSeat(parts).sheets;
    this.people = assessors;
  }

  get #input(): unknown {
    const leaving = LEAVINGS.find(({ value }) => value === this.leaving)?.share ?? 0;
    const chosen = DIFFERENCES.find(({ value }) => value === this.difference)?.dPrime ?? null;
    return {
      people: this.people,
      dPrime: chosen ?? this.dPrime,
      attributeSteps: Object.fromEntries(Object.entries(this.steps).filter(([, step]) => step !== null)),
      positionBias: POSITIONS.find(({ value }) => value === this.position)?.bias ?? 0,
      careless: CARES.find(({ value }) => value === this.care)?.careless ?? 0,
      leaving: { share: leaving, from: 0, to: Math.min(160, Math.max(0, this.sheets - 1)) },
      pace: PACES.find(({ value }) => value === this.pace)?.pace ?? null,
      ...(this.seed.trim() !== '' && { seed: this.seed.trim().toLowerCase() }),
    };
  }

  get input(): RehearsalInput | undefined {
    return rehearsalInput.safeParse(this.#input).data;
  }

  /** What fields still need; nothing before somebody tried to send it. */
  get notes(): Record<string, string> {
    const read = rehearsalInput.safeParse(this.#input);
    return this.tried && read.error ? fieldNotes(read.error) : {};
  }
}
