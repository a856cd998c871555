import {
  armMaking,
  type ArmMaking,
  type Closure,
  type CultureForm,
  type Organism,
} from '@oddglass/shared/contracts/making.ts';

/** One addition as it is typed. */
export interface AdditionDraft {
  what: string;
  amount: string;
  on: string;
}

/** How an arm was made, as it is typed: everything may stay empty, and empty means unknown. */
export class MakingDraft {
  vessel = $state('');
  vesselMl = $state<number | null>(null);
  closure = $state<Closure | ''>('');
  culture = $state('');
  cultureForm = $state<CultureForm | ''>('');
  organisms = $state<Organism[]>([]);
  lot = $state('');
  bestBefore = $state('');
  pitched = $state<number | null>(null);
  pitchedUnit = $state<'mL' | 'g'>('mL');
  cellsBillion = $state<number | null>(null);
  temperatureC = $state<number | null>(null);
  additions = $state<AdditionDraft[]>([]);

  constructor(from: ArmMaking = armMaking.parse({})) {
    this.vessel = from.vessel;
    this.vesselMl = from.vesselMl;
    this.closure = from.closure ?? '';
    this.culture = from.culture;
    this.cultureForm = from.cultureForm ?? '';
    this.organisms = [...from.organisms];
    this.lot = from.lot;
    this.bestBefore = from.bestBefore ?? '';
    this.pitched = from.pitched?.amount ?? null;
    this.pitchedUnit = from.pitched?.unit ?? 'mL';
    this.cellsBillion = from.cellsBillion;
    this.temperatureC = from.temperatureC;
    this.additions = from.additions.map(({ what, amount, on }) => ({ what, amount, on: on ?? '' }));
  }

  addAddition(): void {
    this.additions.push({ what: '', amount: '', on: '' });
  }

  removeAddition(at: number): void {
    this.additions.splice(at, 1);
  }

  /** What is sent; the contract says what each field still needs. */
  get typed(): unknown {
    return {
      vessel: this.vessel,
      vesselMl: this.vesselMl,
      closure: this.closure || null,
      culture: this.culture,
      cultureForm: this.cultureForm || null,
      organisms: [...this.organisms],
      lot: this.lot,
      bestBefore: this.bestBefore || null,
      pitched: this.pitched === null ? null : { amount: this.pitched, unit: this.pitchedUnit },
      cellsBillion: this.cellsBillion,
      temperatureC: this.temperatureC,
      additions: this.additions
        .filter(({ what, amount }) => what.trim() !== '' || amount.trim() !== '')
        .map(({ what, amount, on }) => ({ what, amount, on: on || null })),
    };
  }
}
