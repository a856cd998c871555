import { listed } from '@oddglass/shared/ground/phrases.ts';
import type { ChoicePart } from '@oddglass/shared/contracts/part.ts';
import type { Publication, PublishedSession } from '@oddglass/shared/contracts/publication.ts';
import type { PartResult } from '@oddglass/shared/contracts/result.ts';
import type { FlightPartKind } from '@oddglass/shared/kinds/kind.ts';
import { choiceOf, isFlightKind, kindOf } from '@oddglass/shared/kinds/kinds.ts';
import { asChosen, percent } from '#lib/text/numbers.ts';
import { keyReadersSentence } from '@oddglass/shared/analysis/common/key-readers.ts';
import { monthWords, peopleWords, sealedSettings } from './facts.ts';

// The methods of a publication in sentences, each from what was sealed, opened or computed; what nobody recorded is said to be so.

/** How the tasting was set up, one paragraph per session. */
export function setUpWords(publication: Publication, session: PublishedSession): string {
  const { assessors, cupMl, restSeconds } = sealedSettings(session);
  const planned = assessors === null ? '' : ` The plan was made for ${peopleWords(assessors)}.`;
  const cups =
    cupMl === null
      ? ''
      : ` Each cup held ${asChosen(cupMl)} mL${restSeconds ? `, and between trays everybody rested for at least ${asChosen(restSeconds)} s` : ''}.`;
  return (
    `${session.title} was tasted in ${monthWords(session.heldIn)}: ${peopleWords(session.seated)} took a seat, ` +
    `and ${session.assessors === session.seated ? 'all of them' : `${session.assessors}`} answered.${planned}${cups} ` +
    `${ordersWords(session)} ${sitesWords(session)}${blindingWords(session)} ${servingWords(session, publication)}`
  );
}

function ordersWords({ seal }: PublishedSession): string {
  const trays = seal.leaves.filter(({ kind }) => kind === 'tray').length;
  return (
    `Cups carried three-digit codes drawn at random. Which sample stood where was drawn before the first cup, balanced over seats, ` +
    `and fixed under the seal ${seal.fingerprint} together with settings and seating; ${trays} trays of it are opened here.`
  );
}

/** Several places of one plan, and how they differ where that is told. */
function sitesWords({ sites, parts }: PublishedSession): string {
  if (!sites) return '';
  const several = parts.length > 1;
  const warm = sites.served.flatMap(({ temperatureC }, at) =>
    temperatureC === null ? [] : [`${asChosen(temperatureC)} °C at place ${at + 1}`],
  );
  const said = [
    sites.saying,
    warm.length > 0 ? `The cups were served at ${listed(warm)}.` : '',
    ...(sites.compared ?? []).map(({ part, rows, counts, reading }) => {
      const counted = rows.flatMap((row) =>
        row.counted === null ? [] : [`${row.counted} of ${row.answers}`],
      );
      const shown = counted.length > 0 ? `By place ${listed(counted)} said ${counts}. ` : '';
      return `${several ? `Part ${part}: ` : ''}${shown}${reading}`;
    }),
  ];
  return `${said.filter(Boolean).join(' ')} `;
}

/** Who knew what: told by how often the key was opened, where that was written down. */
function blindingWords({ blinding, keyReaders }: PublishedSession): string {
  if (blinding === 'single') {
    return 'The tasting was single-blind: assessors did not know the samples, but the host had the key, and may have said something without a word.';
  }
  const double =
    'The tasting was double-blind: neither assessors nor the host were shown until the reveal which cup held what';
  if (keyReaders === undefined) {
    return `${double}; whoever poured had the key, and how many accounts opened it was not written down.`;
  }
  return keyReaders.accounts === 0
    ? `${double}. No account opened the key before the reveal; who poured, and by what, was not recorded.`
    : `${double}. Whoever poured saw which sample belonged in which cup. ${keyReadersSentence(keyReaders)}`;
}

/** Conditions are part of a method; where nobody wrote them down a reader has to know that, and only there. */
function servingWords({ serving }: PublishedSession, { caveats }: Publication): string {
  const told = caveats.length > 0 ? ' What went otherwise than planned stands under the caveats.' : '';
  if (!serving) return `Room, light and temperature of the cups are not told in this publication.${told}`;
  const { masking, note, temperatureC, looks, smellOnly, stopped } = serving;
  const said = [
    masking ? 'Seats started in masking light.' : 'No masking light was set.',
    typeof temperatureC === 'number' ? `The cups were served at ${asChosen(temperatureC)} °C.` : '',
    looks === 'alike' ? 'The arms looked alike in the cups.' : '',
    looks === 'differ' ? 'The arms looked different in the cups.' : '',
    looks === 'not-looked' ? 'Nobody looked whether the arms look alike in the cups.' : '',
    smellOnly ? 'The cups were smelled and not tasted.' : '',
    stopped ? 'The tasting was stopped: something on the table was found unfit to taste.' : '',
    note ? `Whoever poured was told: “${note}”` : '',
    note === null ? 'What whoever poured was told of serving is left out by the host.' : '',
  ].filter(Boolean);
  const measured = temperatureC === null ? 'Nobody measured how warm the cups were.' : '';
  // A note may say it in its own words, so nothing is denied beside one.
  const unknown =
    note === ''
      ? temperatureC === undefined
        ? 'The room, its light and the temperature of the cups were not recorded.'
        : 'The room and its light were not recorded.'
      : '';
  return [...said, measured, unknown].filter(Boolean).join(' ') + told;
}

/** What one part asked, of whom, and what was fixed beforehand. */
export function partWords(
  result: PartResult,
  session: PublishedSession,
  nameOf: (armId: string) => string,
): string {
  const { settings, served } = result;
  const asked = isFlightKind(result) ? flightWords(result, session) : choiceWords(result, nameOf);
  const repeated =
    'replicates' in settings && settings.replicates > 1
      ? ` Each assessor had ${peopleWords(settings.replicates, 'tray')}.`
      : '';
  const left =
    served.unanswered > 0
      ? ` ${served.unanswered} of ${served.answers + served.unanswered} sheets were left open.`
      : '';
  return `${kindOf(result).names.heading}: ${asked}${repeated} ${plannedWords(settings)}${left}`;
}

type FlightOf = Extract<PartResult, { kind: FlightPartKind }>;

function choiceWords({ settings }: { settings: ChoicePart }, nameOf: (armId: string) => string): string {
  return choiceOf(settings).published(settings, listed(settings.armIds.map(nameOf)), nameOf);
}

function flightWords(result: FlightOf, { samples: sealed }: PublishedSession): string {
  const { cups, cupsEach } = result.settings;
  const own = sealed.filter((sample) => sample.part === result.part && sample.control !== 'marked');
  const count = own.length > 0 ? own.length : result.samples.length;
  const dealt =
    cups === 'before'
      ? `asked on the cups of the part before it (${peopleWords(count, 'sample')})`
      : cupsEach !== null && cupsEach < count
        ? `${peopleWords(count, 'sample')}, ${peopleWords(cupsEach, 'cup')} for each assessor in incomplete blocks`
        : `${peopleWords(count, 'sample')}, all of them for each assessor`;
  const extra = [
    own.some(({ role }) => role === 'duplicate') ? 'a hidden duplicate' : '',
    own.some(({ role }) => role === 'spiked') ? 'a spiked sample' : '',
    own.some(({ role }) => role === 'warm-up') ? 'a warm-up cup that is left out of the analysis' : '',
  ].filter(Boolean);
  const among = extra.length > 0 ? `, among them ${listed(extra)}` : '';
  return `${dealt}${among}; ${askedWords(result)}`;
}

function askedWords(result: FlightOf): string {
  switch (result.kind) {
    case 'rating': {
      const { attributes, scale, by, returning } = result.settings;
      const on =
        scale === 'line' ? 'on a line from 0 to 100 without a start mark' : 'on whole numbers from 1 to 9';
      const way = by === 'sample' ? 'cup by cup' : 'attribute by attribute';
      return `${listed(attributes.map(({ name }) => name))} rated ${on}, ${way}${returning ? '' : ', without going back'}.`;
    }
    case 'description':
      return `every word that fits was checked, in an order of words of each seat’s own${result.settings.intensity ? ', with how strong it was' : ''}${result.late ? `; ${result.late.seconds} s or more after the words of a cup were sent, and without tasting again, which of ${peopleWords(result.late.family.tests, 'word')} were there` : ''}.`;
    case 'ranking':
      return `put in order from least to most ${result.settings.attribute}.`;
    case 'control':
      return `how different from a marked control, in ${peopleWords(result.settings.degrees.length, 'degree')}, with one hidden cup of the control among them.`;
    case 'liking':
      return 'liking from 1 to 9.';
  }
}

function plannedWords(settings: PartResult['settings']): string {
  const alpha = `Alpha was fixed at ${asChosen(settings.alpha)} beforehand`;
  if (!('meaningfulShare' in settings)) return `${alpha}.`;
  const { aim, meaningfulShare, beta } = settings;
  return aim === 'similarity'
    ? `The aim was similarity: that the share of discriminators is below ${percent(meaningfulShare)}, beta fixed at ${asChosen(beta)} beforehand.`
    : `${alpha}, with a share of discriminators of ${percent(meaningfulShare)} as what would matter, and beta ${asChosen(beta)}.`;
}

/** Names of the statistics with their sources, once each. */
export function statisticsOf({ sessions, methods }: Publication): { name: string; source: string }[] {
  const notes = [...sessions.flatMap(({ parts }) => parts.flatMap((part) => part.methods)), ...methods];
  const known = new Map(notes.map(({ name, source }) => [name, { name, source }]));
  return [...known.values()];
}
