import type { SoloPlan, SoloSettings, SoloTrayView, SoloView } from '@oddglass/shared/contracts/solo.ts';
import { capital, inWords, listed } from '@oddglass/shared/ground/phrases.ts';
import { differenceOf } from '@oddglass/shared/kinds/kinds.ts';
import { linesAhead, soloPour } from '@oddglass/shared/rules/solo.ts';

const ORDINALS = ['first', 'second', 'third', 'fourth', 'fifth', 'sixth'];

/** 'first from the left': a place on the table. */
export const placeWords = (at: number): string => `${ORDINALS[at] ?? at + 1} from the left`;

/** What a series does, in a list: 'triangle series', 'rating'. */
export const kindWords = (kind: SoloSettings['kind']): string =>
  kind === 'rating' ? 'rating' : `${differenceOf({ kind }).names.plain} series`;

interface Series {
  settings: SoloSettings;
  plan: SoloPlan;
}

/** How cups are filled and marked: 'two cups of A (18 °C) and two of B (22 °C)'. */
export function fillWords({ settings, plan }: Series): string {
  const { each } = soloPour(settings);
  return listed(
    plan.arms.map(({ mark, name }, at) => {
      const cups = each === 1 ? 'one' : inWords(each);
      return at === 0
        ? `${cups} ${each === 1 ? 'cup' : 'cups'} of ${mark} (${name})`
        : `${cups} of ${mark} (${name})`;
    }),
  );
}

/** The three steps from bottle to table, in words. */
export function stepsInWords(series: Series, codes: readonly (string | null)[]): [string, string, string] {
  const { settings } = series;
  const { each } = soloPour(settings);
  const slips = `${capital(each === 1 ? 'a slip' : `${inWords(each)} slips`)} of paper for each arm`;
  const aside = codes.indexOf(null);
  const last =
    aside === -1
      ? 'Stand the cups in a row. Left to right they have the codes below.'
      : `Stand the cups in a row, then put the ${placeWords(aside)} behind it, untasted, still on its slip. The others have the codes below.`;
  return [
    `${slips}, marked and laid face down. Pour ${fillWords(series)}, ${settings.cupMl} mL each, alike to the eye, and stand every cup on a slip of its arm.`,
    'Close your eyes. Move cup and slip together about the table, one past the other, until you could not say any more which is which.',
    last,
  ];
}

/** What is chosen, as a sentence. */
export function choiceSentence(
  kind: Exclude<SoloSettings['kind'], 'rating'>,
  chosen: readonly string[],
  codes: readonly string[],
): string {
  return differenceOf({ kind }).sentence({ kind }, chosen, codes);
}

/** What was answered of a tray, in a sentence. */
export function saidWords(
  { settings, mine }: Series & { mine: boolean },
  { codes, answer }: Pick<SoloTrayView, 'codes' | 'answer'>,
): string {
  const said = answer?.answer;
  if (!said) return 'Not answered.';
  if (said.kind === 'left-out') return 'Left out before it was turned.';
  const asked = codes.filter((code) => code !== null);
  if (said.kind === 'choice' && settings.kind !== 'rating')
    return `${mine ? 'You said' : 'Said'}: ${choiceSentence(settings.kind, said.codes, asked)}.`;
  if (said.kind === 'marks' && settings.kind === 'rating')
    return `${mine ? 'You marked' : 'Marked'} ${settings.attributes
      .map(
        ({ name }, column) =>
          `${name} ${listed(asked.map((code, at) => `${said.marks[at]?.[column] ?? 'none'} in ${code}`))}`,
      )
      .join('; ')}.`;
  return 'Answered.';
}

/** What stood where, in a sentence. */
export function stoodWords(
  { plan }: Series,
  { codes, stood }: Pick<SoloTrayView, 'codes' | 'stood'>,
): string {
  if (!stood) return '';
  const nameOf = (id: string | undefined): string =>
    plan.arms.find((arm) => arm.id === id)?.name ?? 'unknown';
  const places = codes.map((code, at) => `${code ?? 'put aside'}: ${nameOf(stood.armIds[at])}`);
  return `${places.join(', ')}.${stood.asPlanned ? '' : ' Poured otherwise than planned, not counted.'}`;
}

/** Where a series by lines stands, and what would speak next; null without lines, or before the first tray counted. */
export function aheadWords({
  settings,
  plan,
  trays,
}: Pick<SoloView, 'settings' | 'plan' | 'trays'>): string | null {
  const ahead = linesAhead({
    settings,
    plan,
    trays: trays.map(({ answer, stood }) => ({ answer: answer?.answer ?? null, stood })),
  });
  if (!ahead || ahead.counted === 0) return null;
  const { counted, found, difference, less } = ahead;
  const spoken = [
    ...(difference === null || difference > found + 1
      ? []
      : [`${inWords(difference)} would speak for a difference`]),
    ...(less === null || less < found ? [] : [`${inWords(less)} for less than the size that matters`]),
  ];
  const next = spoken.length > 0 ? `after the next tray ${listed(spoken)}` : 'the next tray cannot speak yet';
  return `So far ${found} of ${counted} as they stood; ${next}.`;
}
