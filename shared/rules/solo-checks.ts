import type { SoloAnswerInput, SoloPlan, SoloSettings, SoloStoodInput } from '../contracts/solo.ts';
import { inWords, listed } from '../ground/phrases.ts';
import { differenceOf } from '../kinds/kinds.ts';
import { soloPour, standsAsPlanned } from './solo.ts';

interface Sealed {
  settings: SoloSettings;
  plan: SoloPlan;
}

/** What is wrong with an answer to a tray; null when it fits. */
export function answerTrouble(
  { settings, plan }: Sealed,
  { tray, answer }: Pick<SoloAnswerInput, 'tray' | 'answer'>,
): string | null {
  if (answer.kind === 'left-out') return null;
  if (answer.kind === 'marks') {
    if (settings.kind !== 'rating') return 'Choose among the cups of this tray.';
    const whole =
      answer.marks.length === settings.armIds.length &&
      answer.marks.every((marks) => marks.length === settings.attributes.length);
    return whole ? null : 'Mark every cup on every attribute, or say that you cannot.';
  }
  if (settings.kind === 'rating') return 'Mark the cups of this tray.';
  const { picks, words } = differenceOf(settings);
  const { least, most } = picks(settings);
  const codes = plan.trays[tray - 1]?.codes ?? [];
  const { length } = answer.codes;
  if (length < least || length > most || new Set(answer.codes).size !== length)
    return words({ kind: settings.kind }).missing;
  return answer.codes.every((code) => codes.includes(code)) ? null : 'Choose among the cups of this tray.';
}

/** What is wrong with an entry of what stood where; null when it fits. */
export function stoodTrouble(
  { settings, plan }: Sealed,
  { armIds, asPlanned }: Pick<SoloStoodInput, 'armIds' | 'asPlanned'>,
): string | null {
  const { poured } = soloPour(settings);
  if (armIds.length !== poured || armIds.some((id) => !settings.armIds.includes(id)))
    return `Enter the mark under each of the ${inWords(poured)} cups.`;
  if (standsAsPlanned(settings, armIds) === asPlanned) return null;
  return asPlanned ? uneven({ settings, plan }, armIds) : 'This is how the cups were to be poured.';
}

/** Says what was entered beside what was poured. */
export function uneven({ settings, plan }: Sealed, armIds: readonly string[]): string {
  const { each } = soloPour(settings);
  const entered = listed(
    plan.arms.map(({ id, mark }) => `${inWords(armIds.filter((one) => one === id).length)} of ${mark}`),
  );
  return `${each === 1 ? 'One cup' : `${inWords(each).charAt(0).toUpperCase()}${inWords(each).slice(1)} cups`} of each arm were to be poured, and this is ${entered}. Look at the slips once more.`;
}
