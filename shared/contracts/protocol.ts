import { z } from 'zod';
import { optionalText, text, webAddress } from './common.ts';
import {
  controlPart,
  descriptionPart,
  directionalPairPart,
  duoTrioPart,
  likingPart,
  preferencePart,
  rankingPart,
  ratingPart,
  sameDifferentPart,
  sampleInput,
  tetradPart,
  threeAfcPart,
  trianglePart,
  twoOutOfFivePart,
} from './part.ts';
import { lingering } from './session.ts';
import { site } from './site.ts';

// protocol.json: what a published tasting asked, for others to ask the same. Arms stand by the names readers know; no code,
// no order, no seed, nobody and no day is in it.

const armName = text(60);
const twoArms = z
  .array(armName)
  .length(2, 'This test compares two arms.')
  .refine(([first, second]) => first !== second, 'Name two different arms.');

const { armId: _sampleArm, ...sampleRest } = sampleInput.shape;
const protocolSample = z
  .object({ arm: armName, ...sampleRest })
  .refine(({ role, spike }) => (role === 'spiked') === (spike !== null), {
    path: ['spike'],
    message: 'Say what was added to a spiked sample, and to no other.',
  });
const samples = z.array(protocolSample).max(12, 'At most twelve samples.');

/** A word that was offered: how the assessors read it, and what it was said to mean; null: the publication does not tell. */
const protocolWord = z.object({
  id: z.string().regex(/^[a-z][a-z0-9-]{0,60}$/),
  word: text(60),
  family: optionalText(60),
  definition: text(400).nullable(),
});
export type ProtocolWord = z.infer<typeof protocolWord>;

const choice = { armIds: true } as const;
const directed = { armIds: true, strongerArmId: true } as const;

/** A part as settings have it, with names of arms in the place of their ids. */
export const protocolPart = z.discriminatedUnion('kind', [
  trianglePart.omit(choice).extend({ arms: twoArms }),
  duoTrioPart.omit(choice).extend({ arms: twoArms }),
  tetradPart.omit(choice).extend({ arms: twoArms }),
  twoOutOfFivePart.omit(choice).extend({ arms: twoArms }),
  threeAfcPart.omit(directed).extend({ arms: twoArms, strongerArm: armName }),
  directionalPairPart.omit(directed).extend({ arms: twoArms, strongerArm: armName.nullable() }),
  preferencePart.omit(choice).extend({ arms: twoArms }),
  sameDifferentPart.omit(choice).extend({ arms: twoArms }),
  ratingPart.omit({ samples: true }).extend({ samples }),
  descriptionPart.omit({ samples: true, words: true }).extend({
    samples,
    /** null: the whole vocabulary of the panel was offered. */
    words: z.array(protocolWord).min(2, 'Offer at least two words.').max(200).nullable(),
  }),
  controlPart.omit({ samples: true, controlArmId: true }).extend({ samples, controlArm: armName }),
  likingPart.omit({ samples: true }).extend({ samples }),
  rankingPart.omit({ samples: true }).extend({ samples }),
]);
export type ProtocolPart = z.infer<typeof protocolPart>;

const hex = z.string().regex(/^[0-9a-f]{64}$/, 'This is no root of a seal.');

export const protocolSession = z.object({
  /** Root of the seal under which it was asked. */
  root: hex,
  title: text(80),
  /** Planned n: people expected, and seats beyond. */
  assessors: z.number().int().min(1, 'At least one assessor.').max(200, 'At most 200 assessors.'),
  spareSeats: z.number().int().min(0).max(100, 'At most 100 spare seats.'),
  /** The same for each of several places, whose names are not told; left out: one place. */
  sites: z
    .array(site.omit({ name: true }))
    .min(2)
    .max(8)
    .optional(),
  /** Conditions of serving: mL per cup, seconds of rest between trays; light and what lingers where it is told. */
  cupMl: z.number().min(5, 'At least 5 mL.').max(250, 'At most 250 mL.'),
  restSeconds: z.number().int().min(0).max(3600, 'At most an hour.'),
  masking: z.boolean().nullable(),
  lingering: z.array(lingering).max(4).nullable(),
  parts: z.array(protocolPart).min(1, 'A session needs a part.').max(4, 'At most four parts.'),
});
export type ProtocolSession = z.infer<typeof protocolSession>;

export const protocol = z
  .object({
    /** Form of this file. */
    protocol: z.literal(1, 'Only the first form of protocol.json is known here.'),
    title: text(120),
    /** Where the publication stood when this was made; null: nobody knew. */
    address: webAddress.nullable(),
    question: text(300),
    factor: text(100),
    arms: z
      .array(z.object({ name: armName, differs: text(300) }))
      .min(2, 'A trial compares at least two arms.')
      .max(8, 'A trial has at most eight arms.'),
    /** What the arms shared, as far as the host told it. */
    base: z.array(z.object({ label: text(200), value: text(1000) })).max(20),
    sessions: z.array(protocolSession).min(1, 'There is no tasting in it.').max(100),
  })
  .superRefine(({ arms, sessions }, context) => {
    const known = new Set(arms.map(({ name }) => name));
    if (known.size < arms.length) {
      context.addIssue({ code: 'custom', path: ['arms'], message: 'Two arms have one name.' });
    }
    sessions.forEach(({ parts }, session) => {
      parts.forEach((one, at) => {
        for (const name of armsOfProtocolPart(one)) {
          if (known.has(name)) continue;
          const message = `‘${name}’ is not among the arms.`;
          context.addIssue({ code: 'custom', path: ['sessions', session, 'parts', at], message });
        }
      });
    });
  });
export type Protocol = z.infer<typeof protocol>;

/** Every arm that a part names. */
export function armsOfProtocolPart(one: ProtocolPart): string[] {
  const named = 'arms' in one ? one.arms : one.samples.map(({ arm }) => arm);
  const stronger = 'strongerArm' in one && one.strongerArm !== null ? [one.strongerArm] : [];
  const control = 'controlArm' in one ? [one.controlArm] : [];
  return [...new Set([...named, ...stronger, ...control])];
}
