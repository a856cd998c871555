// What is said in more than one place about safety, with where it comes from; so that no page says it otherwise.

/** Menz, Aldred & Vriesekoop 2011 (abstract read); that the line of 4.6 is one for C. botulinum is common knowledge of the trade. */
export const WITHOUT_ALCOHOL =
  'Without alcohol, taste only what is below pH 4.0; from 4.0 to 4.6 smell only; above 4.6, or with mould, not at all.';
export const WHY_NOT_4_6 =
  'pH 4.6 is the line for Clostridium botulinum only: at pH 4.3 E. coli O157:H7 and Salmonella grew fast in alcohol-free ' +
  'beer, at 4.0 they did not, and in beer of middle strength they lived for more than 30 days at 4 °C.';
export const WHY_NOT_4_6_SOURCE = 'Menz, Aldred & Vriesekoop 2011, Journal of Food Protection 74:1670';

/** Izquierdo-Pulido et al. 1996 (abstract and first page read). */
export const AMINES =
  'Nor with MAO inhibitors or histamine intolerance: of 195 beers, those of spontaneous fermentation and with cherries held ' +
  'most tyramine and histamine, and other sour and wild drinks are made in like ways.';
export const AMINES_SOURCE =
  'Izquierdo-Pulido et al. 1996, Journal of Agricultural and Food Chemistry 44:3159';

/** Pizarek & Vickers 2017 (abstract read): caffeine, ethyl butyrate and almond were stronger when swallowed; sucrose and citric acid were not. */
export const SPITTING =
  'Swallow or spit, as you like; but do it alike for every cup. Some notes, bitterness among them, are stronger when ' +
  'swallowed.';
export const SPITTING_SOURCE = 'Pizarek & Vickers 2017, Journal of Sensory Studies 32:e12277';

/** What bread and crackers bring, and what does without: nobody has asked who bears them. Common practice, no source. */
export const PALATE_FOOD =
  'Bread and crackers for the palate hold gluten and may hold sesame or milk; plain boiled rice does as well, and water ' +
  'is enough.';
