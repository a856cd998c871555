import type { Part } from './part.ts';
import { isFlight, type PartError } from './part-fit.ts';

/** A substance, or a group of them, that is never added to a cup, in whatever dose. */
export interface RefusedSubstance {
  /** As it is written to people. */
  readonly name: string;
  /** Other names it goes by; case, accents, hyphens, commas and spaces in them do not count, nor a plural s. */
  readonly synonyms: readonly string[];
  /** Why, and what shows the same note safely. */
  readonly why: string;
}

/** Common practice, no source: what nobody should hold or weigh in a kitchen, or what is no food at all. */
export const REFUSED_SUBSTANCES: readonly RefusedSubstance[] = [
  {
    name: '3-methylbut-2-ene-1-thiol',
    synonyms: [
      '3-methyl-2-butene-1-thiol',
      '3-methyl-2-butenethiol',
      '3-methylbut-2-enethiol',
      '3,3-dimethylallyl mercaptan',
      'prenyl mercaptan',
      'prenylthiol',
      'prenethiol',
      'isopentenyl mercaptan',
      'MBT',
    ],
    why: 'nanograms are enough to spoil a room. Stand the same hopped beer in sunlight instead.',
  },
  {
    name: 'hydrogen sulphide',
    synonyms: [
      'H2S',
      'hydrogen sulfide',
      'hydrosulphide',
      'sulphuretted hydrogen',
      'hydrosulphuric acid',
      'sodium sulphide',
      'potassium sulphide',
      'ammonium sulphide',
      'Na2S',
      'NaHS',
    ],
    why: 'it is a poisonous gas, and its salts give it off in acid. Smell a boiled egg yolk instead.',
  },
  {
    name: 'mercaptans',
    synonyms: [
      'mercaptan',
      'methanethiol',
      'methane thiol',
      'ethanethiol',
      'ethane-1-thiol',
      'propanethiol',
      'propane-1-thiol',
      'propane-2-thiol',
      'butanethiol',
      'butane-1-thiol',
      'methylmercaptan',
      'ethylmercaptan',
      'propylmercaptan',
      'butylmercaptan',
      'thioethanol',
      'thiomethanol',
      'CH3SH',
      'C2H5SH',
      'benzenethiol',
      'thiophenol',
      'mercaptoethanol',
    ],
    why: 'they are poisonous, and traces stay in a room for days. Garlic or boiled cabbage show the note.',
  },
  {
    name: 'chlorophenols',
    synonyms: [
      'chlorophenol',
      'monochlorophenol',
      'dichlorophenol',
      'trichlorophenol',
      'tetrachlorophenol',
      'pentachlorophenol',
      'chlorinated phenol',
      'chloroxylenol',
      'TCP',
      'DCP',
      'PCP',
    ],
    why: 'they are poisonous. Smell a sticking plaster in a covered glass instead.',
  },
  {
    name: 'bleach',
    synonyms: [
      'hypochlorite',
      'sodium hypochlorite',
      'calcium hypochlorite',
      'NaOCl',
      'NaClO',
      'chloramine',
      'chlorine dioxide',
    ],
    why: 'it burns, and in acid it gives off chlorine. Smell the water of a swimming pool instead.',
  },
  {
    name: 'nail varnish remover',
    synonyms: ['nail polish remover', 'acetone', 'paint thinner', 'turpentine', 'petrol', 'diesel'],
    why: 'it is no food. Ethyl acetate sold as a food flavouring shows the solvent note.',
  },
  {
    name: 'methanol',
    synonyms: ['methyl alcohol', 'wood alcohol', 'methylated spirit', 'denatured alcohol'],
    why: 'it blinds and kills. Use food-grade ethanol.',
  },
];

/** A run of letters or of digits, and whether white space stands before it. */
interface Token {
  readonly text: string;
  readonly apart: boolean;
}

function tokensOf(text: string): Token[] {
  // NFKD makes H₂S of small digits and takes accents off.
  const plain = text
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replaceAll('sulf', 'sulph')
    .replace(/[’'`´]/g, '');
  return [...plain.matchAll(/\p{L}+|\p{N}+/gu)].map((found, at, all) => {
    const before = all[at - 1];
    const end = before ? before.index + before[0].length : 0;
    return { text: found[0], apart: at === 0 || /\s/.test(plain.slice(end, found.index)) };
  });
}

const joined = (tokens: readonly Token[]): string => tokens.map(({ text }) => text).join('');

// A short name has to stand in one piece: 'stir 2 h, 2 s by hand' names nothing.
const LONG_NAME = 7;

const KEYS: readonly { substance: RefusedSubstance; keys: ReadonlySet<string>; longest: number }[] =
  REFUSED_SUBSTANCES.map((substance) => {
    const names = [substance.name, ...substance.synonyms].map(tokensOf);
    return {
      substance,
      keys: new Set(names.map(joined)),
      longest: Math.max(...names.map((name) => joined(name).length)) + 1,
    };
  });

/**
 * Which refused substance a free text names; undefined for none. Whole names only, whatever the case, accents, hyphens,
 * commas, spaces or a plural s: '2,4,6-Trichlorophenol' and 'ethane thiol' are found, 'thiolised yeast', '3SH' and
 * 'sulphite' are not.
 */
export function refusedSubstance(text: string): RefusedSubstance | undefined {
  const tokens = tokensOf(text);
  for (let from = 0; from < tokens.length; from += 1) {
    for (let to = from + 1; to <= tokens.length; to += 1) {
      const run = tokens.slice(from, to);
      const key = joined(run);
      const inOnePiece = run.slice(1).every(({ apart }) => !apart);
      const readable = inOnePiece || key.length >= LONG_NAME;
      const reach = KEYS.filter(({ longest }) => key.length <= longest);
      if (reach.length === 0) break;
      if (!readable) continue;
      const found = reach.find(
        ({ keys }) => keys.has(key) || (key.endsWith('s') && keys.has(key.slice(0, -1))),
      );
      if (found) return found.substance;
    }
  }
  return undefined;
}

/** The sentence for a spike that names a refused substance; undefined for any other. */
export function spikeRefusal(text: string): string | undefined {
  const found = refusedSubstance(text);
  return found && `Never add ${found.name} to a cup: ${found.why}`;
}

/** Spiked samples that name what is never added, in their own words, their dose, or the reference cup they come from. */
export function refusedSpikes(parts: readonly Part[]): PartError[] {
  return parts.flatMap((part, index) =>
    (isFlight(part) ? part.samples : []).flatMap(({ spike, spikeDose, spikeReference }, place) => {
      // Cautions name what never to add; what a cup is made of stands in the others.
      const said = [spike, spikeDose?.unit, spikeReference?.word, spikeReference?.how];
      const message = said.map((text) => spikeRefusal(text ?? '')).find((refusal) => refusal !== undefined);
      return message === undefined ? [] : [{ at: [index, 'samples', place, 'spike'], message }];
    }),
  );
}
