import type { Swallowing } from '../../contracts/ballot.ts';
import type { Caveat, ServedFacts } from '../../contracts/result-common.ts';
import { kindOf } from '../../kinds/kinds.ts';
import { PAPER_GUARDS_NOT } from '../../paper/guarded.ts';
import { borrowsCups, isChoice } from '../../contracts/part-fit.ts';
import { armsOfPart, cupsIndex, hasWarmUpTray } from '../../rules/parts.ts';
import type { DilutionCheck } from '../../rules/dilution.ts';
import { deviationText } from './deviations.ts';
import { fairTestCaveats } from './fair-test.ts';
import { keyReadersSentence } from './key-readers.ts';
import type { PartInput } from './served.ts';
import type { Part } from '../../contracts/part.ts';
import { capital, inWords, listed, people, percent, plain } from '../../ground/phrases.ts';

// Below this, one person weighs so much that a reader must know. Our own bound; no source.
const SMALL_PANEL = 10;

/** A caveat that stands on no particular arm. */
export function plainCaveat(from: Caveat['from'], text: string): Caveat {
  return { from, arm: null, on: null, text };
}

/**
 * Caveats that every kind of part shares: deviations of its arms, blinding, people who did not come, sheets left
 * unanswered, a small panel, dilutions that nobody else checked, cups of a choice before, and whom the result speaks for. A kind adds its own.
 */
export function commonCaveats(input: PartInput, served: ServedFacts): Caveat[] {
  const { session, settings } = input;
  const caveats = [...fairTestCaveats(input.fairTest ?? []), ...deviationCaveats(input)];
  caveats.push(...conductCaveats(session));
  caveats.push(...servingCaveats(input));
  if (session.smellOnly) {
    caveats.push(
      plainCaveat(
        'serving',
        'Smelled only: no cup was tasted, so nothing here speaks of taste or mouthfeel.',
      ),
    );
  }
  if (session.stopped) {
    caveats.push(
      plainCaveat(
        'serving',
        'The tasting was stopped: something on the table was found unfit to taste. Later answers may be about cups that were not tasted.',
      ),
    );
  }
  if (served.assessors > 0 && served.assessors < settings.assessors) {
    caveats.push(
      plainCaveat(
        'serving',
        `${capital(people(served.assessors))} answered instead of the ${settings.assessors} planned: precision and power are those of the answers given.`,
      ),
    );
  }
  if (served.unanswered > 0) {
    const noun = kindOf(input.part).sheets(input.part) === 'tray' ? 'tray' : 'sheet';
    const which = served.unanswered === 1 ? `One ${noun}` : `${served.unanswered} ${noun}s`;
    const missing = served.unanswered === 1 ? 'It is missing, not wrong.' : 'They are missing, not wrong.';
    caveats.push(plainCaveat('serving', `${which} at taken seats stayed unanswered. ${missing}`));
  }
  if (hasWarmUpTray(input.part)) {
    caveats.push(
      plainCaveat(
        'design',
        'The first tray of each person was there to get used to the cups and is not counted.',
      ),
    );
  }
  if (served.assessors > 0 && served.assessors < SMALL_PANEL) {
    caveats.push(
      plainCaveat(
        'design',
        `A small panel: with ${people(served.assessors)} each one weighs much, and one more could move the figures.`,
      ),
    );
  }
  const dilution = dilutionCaveat(input.dilutions ?? []);
  if (dilution !== null) caveats.push(plainCaveat('serving', dilution));
  const poured = settings.parts[cupsIndex(settings.parts, input.number - 1)];
  if (served.assessors > 0 && borrowsCups(input.part) && poured && isChoice(poured)) {
    caveats.push(
      plainCaveat(
        'design',
        'Asked on the cups of the test before, after the choice was sent: people had an opinion of each cup by then, and may have answered in keeping with it.',
      ),
    );
  }
  const claims = sharedRisk(settings.parts);
  if (served.assessors > 0 && claims) caveats.push(plainCaveat('design', claims));
  caveats.push(
    plainCaveat(
      'generalisation',
      'The result speaks for people like these assessors, this batch and that day’s conditions.',
    ),
  );
  return caveats;
}

/** What bears on blindness and count as a whole: bent answers, a host who poured, seats that changed hands. */
function conductCaveats(session: PartInput['session']): Caveat[] {
  const caveats: Caveat[] = [];
  if (session.answersIntact === false) {
    caveats.push(
      plainCaveat(
        'computation',
        'The answers are not those that were sealed when the tasting closed: some were changed, added or deleted since. Nothing here can be relied on.',
      ),
    );
  }
  if (session.blinding === 'single') {
    caveats.push(
      plainCaveat(
        'blinding',
        'Single-blind: the host poured and knew the key, so manner or tray could have told something.',
      ),
    );
  }
  if (session.keyReaders) caveats.push(plainCaveat('blinding', keyReadersSentence(session.keyReaders)));
  if (session.handedOver) caveats.push(plainCaveat('blinding', handOvers(session.handedOver)));
  if (session.paper) caveats.push(plainCaveat('design', paperSentence(session.paper)));
  if (session.waves) caveats.push(plainCaveat('serving', wavesSentence(session.waves)));
  return caveats;
}

function wavesSentence({ called, seatsAtOnce }: NonNullable<PartInput['session']['waves']>): string {
  return `People tasted in ${inWords(called)} waves of at most ${inWords(seatsAtOnce)}, one after the other. Each order of cups is as common as the plan makes it over all waves, and less evenly within one; bottles stood open longer for the later ones, and nothing shows that nobody spoke of the cups in between.`;
}

function paperSentence({ ballots, entered }: NonNullable<PartInput['session']['paper']>): string {
  const came = ballots === 1 ? 'One ballot came' : `${capital(inWords(ballots))} ballots came`;
  const how =
    entered === 'twice'
      ? 'entered twice, with differences settled against the sheet'
      : 'entered once, so that slips of whoever typed it went unseen';
  return `${came} from paper, ${how}. ${PAPER_GUARDS_NOT}`;
}

/** Several places: what was noted at each, and whose ballots are missing. */
function siteSentences({ sites = [], smellOnly }: PartInput['session']): string[] {
  const named = (which: (site: (typeof sites)[number]) => boolean): string | null => {
    const found = sites.filter(which).map(({ name }) => name);
    return found.length === 0 ? null : listed(found);
  };
  const missing = named(({ standing }) => standing === 'elsewhere');
  const differ = named(({ conditions }) => conditions?.looks === 'differ');
  const unnoted = named(({ standing, conditions }) => standing !== 'elsewhere' && conditions === undefined);
  const otherwise = named((site) => site.standing !== 'elsewhere' && site.smellOnly !== smellOnly);
  const warm = sites.flatMap(({ name, conditions }) =>
    typeof conditions?.temperatureC === 'number' ? [`${plain(conditions.temperatureC)} °C at ${name}`] : [],
  );
  return [
    ...(missing
      ? [`The ballots of ${missing} were not brought before the tasting closed: nobody there counts.`]
      : []),
    ...(differ
      ? [
          `The arms looked different in the cups at ${differ}: people there could have told them apart by eye.`,
        ]
      : []),
    ...(otherwise
      ? [
          `At ${otherwise} the cups were ${smellOnly ? 'tasted' : 'smelled and not tasted'}, otherwise than elsewhere.`,
        ]
      : []),
    ...(warm.length > 0 ? [`The cups were served at ${listed(warm)}.`] : []),
    ...(unnoted ? [`How the cups were served at ${unnoted} was not noted.`] : []),
  ];
}

function handOvers(times: number): string {
  const often = times === 1 ? 'Once a seat was' : `${capital(inWords(times))} times a seat was`;
  return `${often} handed over to another tablet while people tasted. Nothing shows that the same person went on answering there.`;
}

const all = (trays: number): string =>
  trays === 1 ? 'the one tray of which it was told was' : `all ${trays} trays of which it was told were`;

/** How it was served: what eyes could tell, what nobody measured, and who swallowed. */
function servingCaveats(input: PartInput): Caveat[] {
  const { session, settings, trays } = input;
  const texts: string[] = [];
  const { conditions } = session;
  if (conditions?.looks === 'differ') {
    const how = conditions.how ? ` (${conditions.how})` : '';
    texts.push(
      `The arms looked different in the cups${how}. ${
        settings.masking
          ? 'Masking light hides colour, and not haze, foam or bubbles.'
          : 'Without masking light people could have told them apart by eye.'
      }`,
    );
  }
  if (conditions?.looks === 'not-looked')
    texts.push('Nobody looked whether the arms look alike in the cups.');
  if (conditions?.temperatureC === null) texts.push('Nobody measured how warm the cups were served.');
  texts.push(...siteSentences(session));
  const told = (how: Swallowing): number => trays.filter(({ swallowing }) => swallowing === how).length;
  const [swallowed, spat, both] = [told('swallowed'), told('spat'), told('some-of-each')];
  const ways = [swallowed, spat, both].filter((count) => count > 0).length;
  if (ways > 1 || both > 0) {
    texts.push(
      `Of the trays of which it was told, ${swallowed} were swallowed, ${spat} spat and ${both} some of each: bitterness and what comes after the swallow weigh differently among them.`,
    );
  }
  if (ways === 1 && both === 0) {
    const untold = trays.length - swallowed - spat;
    texts.push(
      `${capital(all(swallowed + spat))} ${swallowed > 0 ? 'swallowed' : 'spat'}${untold > 0 ? `; of ${untold} it was not told` : ''}.`,
    );
  }
  if (input.swallowingWithheld) {
    texts.push(
      'Whether the cups were swallowed or spat was told and is withheld: so few did otherwise, or all did the same, that it would point to people.',
    );
  }
  return texts.map((text) => plainCaveat('serving', text));
}

/**
 * What several parts risk together: each claims a difference at its own alpha, and nothing is shared between them. Parts
 * that look for likeness claim none.
 */
function sharedRisk(parts: readonly Part[]): string | null {
  const claiming = parts.filter((part) => !('aim' in part && part.aim === 'similarity'));
  if (claiming.length < 2) return null;
  const risk = Math.min(
    1,
    claiming.reduce((sum, { alpha }) => sum + alpha, 0),
  );
  return `${capital(inWords(claiming.length))} parts of this tasting can each claim a difference, each at its own alpha. Where nothing differs at all, some part would still claim one in up to ${percent(risk)} of such tastings.`;
}

/** What a reader has to know of how spiked samples were made; nobody is named. Null where each was checked. */
function dilutionCaveat(checks: readonly DilutionCheck[]): string | null {
  const alone = checks.filter((check) => check === 'alone').length;
  const unrecorded = checks.filter((check) => check === 'unrecorded').length;
  const of = (count: number): string =>
    checks.length > 1 ? ` of ${count} of ${checks.length} spiked samples` : '';
  const said = [
    alone > 0
      ? `The dilution${of(alone)} was not checked by a second person: nobody else was there who had the key.`
      : '',
    unrecorded > 0 ? `Whether a second person checked the dilution${of(unrecorded)} was not recorded.` : '',
  ].filter(Boolean);
  return said.length > 0 ? said.join(' ') : null;
}

/** Deviations of the arms that stood on the trays of this part, as the trial record has them. */
function deviationCaveats({ session, part, samples, deviations }: PartInput): Caveat[] {
  const poured = new Set([...armsOfPart(part), ...samples.map(({ armId }) => armId)]);
  return deviations
    .filter(({ armId }) => poured.has(armId))
    .map((one) => ({
      from: 'deviation',
      arm: session.arms.find(({ id }) => id === one.armId)?.name ?? null,
      on: one.on,
      text: deviationText(one),
    }));
}
