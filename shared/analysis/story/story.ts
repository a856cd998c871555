import type { MethodNote } from '../../contracts/result-common.ts';
import type { Story, StoryInput, StorySession } from '../../contracts/story.ts';
import { capital, inWords, uncapital } from '../../ground/phrases.ts';
import { sayFirst } from '../common/fair-test.ts';
import { FOREST_METHOD, forestsOf } from '../forest/forest.ts';
import { attributeChange, attributeGroups, changedMarksWords, storyAttributeOf } from './attributes.ts';
import { axisOf, dayOf, type Axis } from './axis.ts';
import { changedWords, changeOf, differenceGroups, storyDifferenceOf } from './differences.ts';
import { forwardOf } from './forward.ts';
import { adjustedTogether, changes } from './over-time.ts';
import { readingLines, signsOf } from './readings.ts';
import { storyWords } from './words.ts';

/**
 * The story of a trial over its pulls: what instruments read and what palates said on one axis of time, what changed, and
 * what stands for each arm. Pure; every list of the input may be empty. Only revealed sessions may be in `sessions`: of others it
 * tells that they exist. Parts that a result withholds, or could not work out, are in no figure here either.
 */
export function storyOf(given: StoryInput): Story {
  const undoing = undoingOf(given);
  const input: StoryInput = {
    ...given,
    sessions: given.sessions
      .map((session) => saidOnce(session, undoing))
      .sort((a, b) => (a.on === b.on ? (a.id < b.id ? -1 : 1) : a.on < b.on ? -1 : 1)),
  };
  const axis = axisOf(input);
  const name = (id: string): string => input.arms.find((arm) => arm.id === id)?.name ?? '?';
  const differences = differenceGroups(input);
  const attributes = attributeGroups(input);
  const { tests, many } = adjustedTogether([
    ...differences.map(changeOf),
    ...attributes.map(attributeChange),
  ]);
  const over = (at: number) => ({ change: tests[at] ?? null, many, axis });
  const told = {
    differences: differences.map((group, at) => storyDifferenceOf(group, { ...over(at), name })),
    attributes: attributes.map((group, at) => storyAttributeOf(group, over(differences.length + at))),
  };
  const forests = forestsOf(
    input.sessions.map(({ id, on, result }) => ({
      session: id,
      name: result.session.title,
      on,
      parts: result.parts,
    })),
    input.arms,
  );
  return {
    format: 'oddglass-story-1',
    trial: input.trial,
    arms: input.arms.map(({ id, name: called, differs }) => ({ id, name: called, differs })),
    axis: axis.told,
    finding: sayFirst(findingOf(input, told), undoing),
    pulls: input.pulls.map(({ id, name: called, at }) => ({
      id,
      name: called,
      on: dayOf(at),
      x: axis.at(at),
    })),
    readings: readingLines(input, axis),
    sessions: sessionsOf(input, axis),
    waiting: input.waiting.map(({ id, title, state }) => ({ id, title, state })),
    ...told,
    forests,
    words: storyWords(input, axis),
    signs: signsOf(input, axis),
    open: input.record
      .filter(({ answered }) => !answered)
      .map(({ sentence, undoesFactor }) => ({ sentence, undoesFactor })),
    tests: many,
    forward: forwardOf(input, { axis, differences, attributes, many }),
    notes: notesOf(input, many),
    methods: [...methodsOf(many, told), ...(forests.length > 0 ? [FOREST_METHOD] : [])],
  };
}

function sessionsOf({ sessions, pulls }: StoryInput, axis: Axis): Story['sessions'] {
  return sessions.map(({ id, on, pullId, result }) => ({
    sessionId: id,
    x: axis.at(on),
    on,
    title: result.session.title,
    pull: pulls.find((pull) => pull.id === pullId)?.name ?? null,
    findings: result.parts.map(({ part, kind, finding }) => ({
      part,
      kind,
      headline: finding.headline,
      lede: finding.lede,
    })),
    left: result.failed.length + (result.withheld?.length ?? 0),
  }));
}

/** What may undo the factor stands before the finding, answered or not: nobody should read a change before that. */
const undoingOf = ({ record }: StoryInput): { undoes: string | null }[] =>
  record.map(({ undoesFactor, undoes, sentence }) => ({
    undoes: undoesFactor ? (undoes ?? sentence) : null,
  }));

/** The story says that first, and once: before every sentence of every session it would hide them. */
function saidOnce(session: StorySession, undoing: readonly { undoes: string | null }[]): StorySession {
  const bare = (headline: string): string => {
    const first = undoing.find(({ undoes }) => undoes !== null && headline.startsWith(`${undoes} `))?.undoes;
    return first ? bare(headline.slice(first.length + 1)) : headline;
  };
  const { result } = session;
  const parts = result.parts.map((part) => ({
    ...part,
    finding: { ...part.finding, headline: bare(part.finding.headline) },
  })) as typeof result.parts;
  return { ...session, result: { ...result, parts } };
}

type Told = Pick<Story, 'differences' | 'attributes'>;

function findingOf(input: StoryInput, { differences, attributes }: Told): Story['finding'] {
  const { sessions } = input;
  const last = sessions.at(-1);
  if (!last) {
    return {
      headline: 'No session of this trial is revealed yet.',
      lede:
        input.readings.length > 0
          ? 'Readings are told below; what palates say is told once a session is revealed.'
          : 'The story begins with the first reading or the first reveal.',
    };
  }
  const [first] = last.result.parts;
  const newest = first ? `${first.finding.headline} ${first.finding.lede}` : 'Nothing of it can be told.';
  if (sessions.length === 1) {
    return {
      headline: first?.finding.headline ?? newest,
      lede: `${first?.finding.lede ?? ''} One session is revealed: whether anything changes over time cannot be said yet.`.trim(),
    };
  }
  const tested = [...differences, ...attributes].filter(({ change }) => change !== null);
  const changed = tested.filter(({ change }) => changes(change));
  const count = `${inWords(sessions.length)} sessions`;
  const headline =
    changed.length > 0
      ? `${changeInWords(changed[0])}, by a test not planned beforehand.${moreWords(changed.length - 1)}`
      : tested.length > 0
        ? `${capital(count)}: that anything changed over time was not shown.`
        : `${capital(count)}: no question was asked twice in a way that can be compared over time.`;
  return { headline, lede: `Last session (${last.on}): ${newest}` };
}

/** What changed, with what it is about; the test stands below with its p. */
function changeInWords(changed: Told['differences' | 'attributes'][number] | undefined): string {
  if (!changed?.change) return '';
  return 'armIds' in changed
    ? `${changed.name}: ${uncapital(changedWords(changed.change))}`
    : changedMarksWords(changed.name, changed.change);
}

const moreWords = (more: number): string =>
  more === 0 ? '' : ` ${capital(inWords(more))} more changed too, as told below.`;

function notesOf({ sessions, pulls, readings }: StoryInput, many: number): string[] {
  const notes: string[] = [];
  if (readings.length === 0) notes.push('No readings are noted.');
  if (pulls.length === 0 && sessions.length > 0)
    notes.push('No pulls are noted: sessions stand on the axis by the day on which they were tasted.');
  if (sessions.length > 1) {
    notes.push(
      'Seats are anonymous, so nobody can be followed from one session to the next: people count as others each time. A steady panel is then not used as well as it could be, and if the same people came again, the tests of d-primes over time take their answers for those of others.',
      'A session differs from the next by more than the age of the arms: people, place, serving and the state of palates change with it. A change over time is a change from session to session.',
    );
  }
  if (many > 0) {
    notes.push(
      `${capital(inWords(many))} ${many === 1 ? 'test' : 'tests'} over time ${many === 1 ? 'is' : 'are'} made here, none planned beforehand; p is adjusted for all of them by Holm.`,
    );
  }
  return notes;
}

function methodsOf(many: number, { differences, attributes }: Told): MethodNote[] {
  const notes: MethodNote[] = [];
  if (differences.some(({ change }) => change !== null)) {
    notes.push({
      id: 'several-d-primes',
      name: 'Equal d-primes over sessions',
      explains:
        'How much better the answers are explained by a d-prime of its own in each session than by one in all; exact over all tables with the same totals where these are few enough, else by chi-square.',
      source: "Bi, Ennis & O'Mahony 1997, Journal of Sensory Studies 12:87; Pawitan 2001, In All Likelihood",
      inputs: 'right answers and answers of each session with one answer from each person',
      assumption: 'Every answer comes from another person, in all sessions; people use the rule of the test.',
    });
  }
  if (attributes.some(({ change }) => change !== null)) {
    notes.push({
      id: 'arms-by-sessions',
      name: 'Arm by session in a mixed model',
      explains:
        'Whether what sets the arms apart is the same in all sessions: arm, session and arm by session fixed, people random within sessions, by REML with Satterthwaite degrees of freedom.',
      source: 'Patterson & Thompson 1971; Satterthwaite 1946; Fai & Cornelius 1996',
      inputs: 'marks of plain samples and their hidden duplicates, over the arms marked in every session',
      assumption:
        'Steps of the scale mean the same in every session; people and errors vary normally, and equally widely in every session.',
    });
  }
  if (many > 1) {
    notes.push({
      id: 'holm-over-time',
      name: 'Holm adjustment over all tests over time',
      explains: 'The chance that any change is claimed where there is none is 5 % at most.',
      source: 'Holm 1979, Scandinavian Journal of Statistics 6:65',
      inputs: `${many} tests`,
      assumption: 'All tests over time that were made are counted; they may depend on each other in any way.',
    });
  }
  return notes;
}
