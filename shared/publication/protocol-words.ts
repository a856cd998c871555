/** Fields of protocol.json as the README of a package explains them: path, and what it says. */
const FIELDS: readonly (readonly [string, string])[] = [
  ['protocol', 'Form of this file: 1.'],
  ['title, address', 'Title of the publication, and where it stood; null: nobody knew.'],
  ['question, factor', 'What was to be decided, and the one thing in which the arms differ.'],
  ['arms', 'Each with its name for readers and what was done differently.'],
  ['base', 'What the arms shared, as far as the host told it, as labels with values.'],
  ['sessions', 'One for each tasting told here.'],
  [
    'sessions.root',
    'Root of the seal under which it was asked (SHA-256, hex): its name for those who repeat it.',
  ],
  [
    'sessions.assessors, spareSeats, sites',
    'Planned n: people expected, and seats beyond; the same for each of several places, where there were.',
  ],
  [
    'sessions.cupMl, restSeconds, masking, lingering',
    'Serving: mL per cup, seconds of rest between trays, light that masks colour, what lingers in the mouth; null: not told.',
  ],
  ['sessions.parts', 'What was asked, in order; arms by name.'],
  ['parts.kind', 'The kind of test or scale; its own settings follow.'],
  [
    'parts.arms, samples',
    'The two arms of a choice in planned order, or the samples of a flight with what each was for.',
  ],
  [
    'parts.aim, alpha, beta, meaningfulShare',
    'Was a difference or likeness to be shown, with which risks, and which share of people would matter.',
  ],
  [
    'parts.replicates, warmUpTray, cups, cupsEach',
    'Trays each, a first tray that does not count, whose cups, and most cups each.',
  ],
  [
    'parts.attribute, strongerArm, reference, controlArm, degrees',
    'What a test asked for, and against what.',
  ],
  [
    'parts.attributes, scale, by, returning',
    'Attributes with the words at the ends of their scale, and how they were marked.',
  ],
  ['parts.words', 'Words offered, with family and definition; null: the whole vocabulary of the panel.'],
  ['parts.intensity, late', 'Was strength asked for, and which words once more after how many seconds.'],
  ['parts.noPreference', 'Could people say that they had none.'],
  ['parts.dPrime', 'Of a same-different test: the difference that mattered, in units of perceptual noise.'],
];

/** The section of README.md on protocol.json. */
export const PROTOCOL_LINES: readonly string[] = [
  '## Repeat it',
  '`protocol.json` says what was asked, from the sealed plan and under the names readers know: no code, order, seed, person, seat or day. ‘Replicate a trial’ on the page of a panel in any Oddglass reads it, or this whole package, and makes a trial and a draft that are sealed together with the root they repeat. Drinks of your own bring their own alcohol and allergens: find out about both before anybody tastes, and keep to the law of your place.',
  `| field | what it says |\n| --- | --- |\n${FIELDS.map(([path, says]) => `| ${path} | ${says} |`).join('\n')}`,
];
