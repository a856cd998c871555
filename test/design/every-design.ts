import type { ChoicePartDesign, FlightPartDesign, PartDesign } from '@oddglass/shared/design/plan-draw.ts';
import { CHOICES, FLIGHTS } from '@oddglass/shared/kinds/kinds.ts';
import type { ChoicePartKind, FlightPartKind } from '@oddglass/shared/kinds/kind.ts';

const samples = (ids: readonly string[], twice: string | null = null): FlightPartDesign['samples'] => [
  ...ids.map((id) => ({ id, role: 'sample' as const, sameAs: id })),
  ...(twice === null ? [] : [{ id: `${twice} again`, role: 'duplicate' as const, sameAs: twice }]),
];

/** A design of every kind that has cups of its own, and of the shapes in which flights are dealt, by name. */
export function everyDesign(replicates: number): [string, PartDesign][] {
  const choices = (Object.keys(CHOICES) as ChoicePartKind[]).map((kind): [string, PartDesign] => {
    const design: ChoicePartDesign = { kind, number: 1, replicates, sampleIds: ['ash', 'elm'] };
    if (CHOICES[kind].stronger !== 'not-named') design.strongerSampleId = 'elm';
    if (kind === 'duo-trio') design.reference = 'constant';
    return [kind, design];
  });
  const flight = (kind: FlightPartKind, change: Partial<FlightPartDesign>): PartDesign => ({
    kind,
    number: 1,
    replicates,
    cupsEach: null,
    samples: samples(['ash', 'elm', 'fir', 'oak']),
    ...change,
  });
  return [
    ...choices,
    ...(Object.keys(FLIGHTS) as FlightPartKind[]).map((kind): [string, PartDesign] => [
      kind,
      flight(kind, kind === 'control' ? { control: { sampleId: 'yew', hiddenSampleId: 'yew again' } } : {}),
    ]),
    ['an odd flight', flight('rating', { samples: samples(['ash', 'elm', 'fir', 'oak', 'yew']) })],
    ['a flight with a cup twice', flight('rating', { samples: samples(['ash', 'elm', 'fir'], 'ash') })],
    [
      'incomplete flights',
      flight('rating', { samples: samples(['ash', 'elm', 'fir', 'oak', 'yew', 'box', 'bay']), cupsEach: 3 }),
    ],
  ];
}
