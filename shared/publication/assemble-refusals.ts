import { deviationText, type NotedDeviation } from '../analysis/common/deviations.ts';
import { capital, listed, people } from '../ground/phrases.ts';
import type { Publication, PublishedSession } from '../contracts/publication.ts';
import { linesOf, peopleOf, type AssembleInput, type PublishableSession } from './assemble-choices.ts';
import { toldBySubtraction } from './audit/subtraction.ts';
import { MIN_BATCH, PublicationRefused, tierOf } from './disclosure.ts';

/** Stops at the first thing that may not be published as it is; its message says what to do. */
export function refuseEarly(input: AssembleInput): void {
  const { sessions, choices } = input;
  if (sessions.length === 0) refuse('sessions', 'empty', 'Choose at least one revealed session.');
  sessions.forEach((session, at) => refuseSession(session, at, input));
  refuseChoices(input);
  const earlierVersion = choices.earlier?.version ?? 0;
  if (choices.version !== earlierVersion + 1) {
    refuse(
      'choices.version',
      'version',
      `The next version is ${earlierVersion + 1}, not ${choices.version}.`,
    );
  }
}

function refuse(
  field: string,
  reason: ConstructorParameters<typeof PublicationRefused>[1],
  message: string,
): never {
  throw new PublicationRefused(field, reason, message);
}

function refuseSession(
  { input, consents, withdrawn }: PublishableSession,
  at: number,
  { choices, protections }: AssembleInput,
): void {
  const { assessors } = peopleOf(input);
  const { title } = input.session;
  if (input.session.rehearsal) {
    refuse(
      `sessions.${at}.input`,
      'rehearsal',
      `‘${title}’ is a rehearsal: nothing was tasted, so nothing can be published.`,
    );
  }
  const tier = tierOf(assessors.length);
  if (tier === null) {
    refuse(`sessions.${at}.input`, 'empty', `Nobody’s answers are left in ‘${title}’: leave it out.`);
  }
  if (tier === 'agreed' && (protections?.panelTiers ?? true)) {
    const missing = assessors.filter((assessor) => !consents.get(assessor)?.smallGroup).length;
    if (missing > 0) {
      refuse(
        `sessions.${at}.consents`,
        'small',
        `${people(assessors.length)} answered in ‘${title}’. So few can be told apart: each of them has to agree, and ${people(missing)} did not. Leave the session out, or taste again with five or more.`,
      );
    }
    if (!choices.hostAgreesSmall) {
      refuse(
        'choices.hostAgreesSmall',
        'small',
        `‘${title}’ is one small group’s word. Confirm that you publish it as such.`,
      );
    }
  }
  const before = choices.earlier?.sessions.find(({ seal }) => seal.root === input.session.root);
  if (before && (protections?.batchedWithdrawals ?? true))
    refuseBatch(before, withdrawn, assessors.length, at);
}

function refuseBatch(before: PublishedSession, withdrawn: number, assessors: number, at: number): void {
  const since = withdrawn - before.withdrawn;
  // Somebody may have withdrawn without having answered: who can be subtracted are those with answers.
  const gone = before.assessors - assessors;
  if (since < 0 || gone < 0) {
    refuse(
      `sessions.${at}.withdrawn`,
      'version',
      'Fewer people withdrew, or more answered, than the last version says.',
    );
  }
  if (gone > 0 && gone < MIN_BATCH) {
    refuse(
      `sessions.${at}.withdrawn`,
      'withdrawals',
      `${capital(people(gone))} with answers withdrew from ‘${before.title}’ since the last version. Whoever holds both versions could subtract one from the other and read their answers. Wait until ${people(MIN_BATCH)} have withdrawn, or withdraw the publication as a whole.`,
    );
  }
}

/** Refuses a version that, subtracted from an earlier one, would tell what those who left had answered. */
export function refuseSubtraction(earlier: Publication | null, sessions: readonly PublishedSession[]): void {
  sessions.forEach((session, at) => {
    const before = earlier?.sessions.find(({ seal }) => seal.root === session.seal.root);
    for (const part of session.parts) {
      const was = before?.parts.find((one) => one.part === part.part);
      const told = was && toldBySubtraction(was, part);
      if (!told) continue;
      refuse(
        `sessions.${at}.withdrawn`,
        'subtraction',
        `Of the people who withdrew from ‘${session.title}’ since the last version, in part ${part.part} ${told}: subtracting the versions would tell what each of them said. Wait for another withdrawal, or withdraw the publication as a whole.`,
      );
    }
  });
}

function refuseChoices({ sessions, choices }: AssembleInput): void {
  const names = choices.arms.map(({ name }) => name.trim().toLocaleLowerCase('en'));
  names.forEach((name, at) => {
    if (name === '') refuse(`choices.arms.${at}.name`, 'arms', 'Give this arm a name for readers.');
    if (names.indexOf(name) !== at) refuse(`choices.arms.${at}.name`, 'arms', 'Two arms have this name.');
  });
  const written = new Set(sessions.flatMap(({ input }) => linesOf(input)));
  const codes = new Set(
    sessions.flatMap(({ input }) => input.trays.flatMap(({ cups }) => cups.map(({ code }) => code))),
  );
  choices.comments.forEach((line, at) => {
    const field = `choices.comments.${at}`;
    if (!written.has(line)) refuse(field, 'comment', 'Nobody wrote this line, or they withdrew it.');
    if (line.match(/\d{3}/g)?.some((digits) => codes.has(digits))) {
      refuse(
        field,
        'comment',
        'This line names a code: through an opened tray it leads to a seat. Leave it out.',
      );
    }
  });
}

/** Deviations of arms in the sessions, each with the host's answer, and marked where it was noted after a reveal. */
export function answeredDeviations({ sessions, choices }: AssembleInput): Publication['caveats'] {
  const seen = new Set<string>();
  return sessions.flatMap(({ input }) =>
    input.deviations
      .filter(({ armId }) => input.session.arms.some(({ id }) => id === armId))
      .flatMap((deviation) => {
        const { armId, on, note } = deviation;
        const key = JSON.stringify([armId, on, note]);
        if (seen.has(key)) return [];
        seen.add(key);
        const given = choices.answers.find(
          (one) => one.armId === armId && one.on === on && one.note === note,
        );
        const arm = choices.arms.find((one) => one.armId === armId)?.name ?? null;
        if (!given || given.answer.trim() === '') {
          refuse(
            'choices.answers',
            'answers',
            `Say what ‘${note}’ (${arm ?? 'an arm'}, ${on}) means for the result.`,
          );
        }
        const text = markedNote(deviation, sessions);
        return [{ from: 'deviation' as const, arm, on, text, answer: given.answer.trim() }];
      }),
  );
}

/** The note as readers get it; where it came after some of several reveals, with the sessions whose reveal it was. */
function markedNote({ armId, on, note }: NotedDeviation, sessions: readonly PublishableSession[]): string {
  const told = sessions.flatMap(({ input: { deviations, session } }) =>
    deviations
      .filter((one) => one.armId === armId && one.on === on && one.note === note)
      .map(({ notedAfterReveal }) => ({ title: session.title, notedAfterReveal })),
  );
  const late = told.filter(({ notedAfterReveal }) => notedAfterReveal !== undefined);
  const [first] = late;
  if (first?.notedAfterReveal === undefined) return note;
  const of = late.length < told.length ? listed(late.map(({ title }) => `‘${title}’`)) : '';
  return deviationText({ note, notedAfterReveal: first.notedAfterReveal }, of);
}
