/** A publication behind a statement; `fromMemory` when it is named from memory and was not reread for this file. */
export interface Citation {
  readonly text: string;
  readonly fromMemory: boolean;
}

const seen = (text: string): Citation => ({ text, fromMemory: false });
const recalled = (text: string): Citation => ({ text, fromMemory: true });

/** For what the trade simply does and says. */
export const CUSTOM = seen('common practice, no source');

// Read, in full or in a table or abstract, for the figures that cite them.
export const HUMIA_2019 = seen('Humia et al. 2019, Molecules 24:1568, table 1');
export const CLAPPERTON_1978 = seen(
  'Clapperton & Brown 1978, Journal of the Institute of Brewing 84:90 (abstract; volume and page from memory)',
);
export const GOLDSTEIN_1993 = seen('Goldstein et al. 1993, Journal of the ASBC 51:70');
export const SNOWDON_2006 = seen('Snowdon et al. 2006, Journal of Agricultural and Food Chemistry 54:6465');
export const LENTZ_2018 = seen('Lentz 2018, Fermentation 4:20');
export const KROGERUS_2013 = seen('Krogerus & Gibson 2013, Journal of the Institute of Brewing 119:86');
export const WALLING_2005 = seen('Walling et al. 2005, Food Microbiology 22:71');
export const DE_ROOS_2018 = seen('De Roos, Vandamme & De Vuyst 2018, Frontiers in Microbiology 9:2763');
export const SPITAELS_2014 = seen('Spitaels et al. 2014, PLoS ONE 9:e95384');
export const OXFORD_2012 = seen('The Oxford Companion to Beer, entry on 4-vinyl guaiacol');
export const OXFORD_2012_BUTYRIC = seen('The Oxford Companion to Beer, entry on butyric acid');
export const PRESCOTT_2005 = seen('Prescott et al. 2005, Food Quality and Preference 16:345 (abstract)');
export const HAWTHORNE_1991 = seen('Hawthorne et al. 1991, Journal of the ASBC 49:4 (abstract)');
export const COLLINGS_1974 = seen('Collings 1974, Perception & Psychophysics 16:169 (abstract)');
export const LAWLESS_2004 = seen('Lawless et al. 2004, Chemical Senses 29:25 (abstract)');
export const HIGGINS_2020 = seen('Higgins & Hayes 2020, Nutrients 12:1560 (abstract)');
export const MOUSY_2019 = seen(
  'Comparison between standardized sensory methods used to evaluate the mousy off-flavor in red wine, OENO One, 2019 (abstract)',
);
export const GUINARD_BEER_1986 = seen('Guinard, Pangborn & Lewis 1986, Journal of the ASBC 44:28 (abstract)');
export const GUINARD_WINE_1986 = seen(
  'Guinard, Pangborn & Lewis 1986, American Journal of Enology and Viticulture 37:184 (abstract)',
);
export const EPKE_2009 = seen('Epke, McClure & Lawless 2009, Food Quality and Preference 20:133 (abstract)');
export const PARKER_2012 = seen(
  'Parker et al. 2012, Journal of Agricultural and Food Chemistry 60:2629 (abstract, of wine; volume and page from memory)',
);
export const CLIFF_1993 = seen(
  'Cliff & Heymann 1993, Journal of Sensory Studies 8:201 (abstract, of chilli and pepper; volume and page from memory)',
);
export const WURDIG_1977 = seen(
  'Würdig 1977, as quoted in Bertrand & Beloqui 2009, Wine Chemistry and Biochemistry',
);
export const BERTRAND_2009 = seen('Bertrand & Beloqui 2009, in: Wine Chemistry and Biochemistry, 10.2.2');
/** A figure without a publication of its own. */
export const ODOURS_IN_WATER = seen(
  'an unsigned list of odour thresholds in water, as quoted on a brewing page in 2016',
);

// Named from memory.
export const MEILGAARD_1975 = recalled('Meilgaard 1975, MBAA Technical Quarterly 12:151');
export const SAISON_2009 = recalled('Saison et al. 2009, Food Chemistry 114:1206');
export const VANDERHAEGEN_2006 = recalled('Vanderhaegen et al. 2006, Food Chemistry 95:357');
export const PIRES_2014 = recalled('Pires et al. 2014, Applied Microbiology and Biotechnology 98:1937');
export const ANNESS_1982 = recalled('Anness & Bamforth 1982, Journal of the Institute of Brewing 88:244');
export const LEA_2003 = recalled(
  'Lea & Drilleau 2003, Cidermaking, in: Fermented Beverage Production, 2nd ed.',
);
export const IGLESIAS_2014 = recalled('Iglesias et al. 2014, Molecules 19:12577');
export const TOMINAGA_1998 = recalled(
  'Tominaga et al. 1998, Journal of Agricultural and Food Chemistry 46:1044',
);
export const WOOD_2008 = recalled('Wood et al. 2008, Journal of Agricultural and Food Chemistry 56:3738');
export const YOUNG_1996 = recalled('Young et al. 1996, Water Research 30:331');
export const NOBLE_1984 = recalled(
  'Noble & Bursick 1984, American Journal of Enology and Viticulture 35:110',
);
export const CHATONNET_1992 = recalled(
  'Chatonnet et al. 1992, Journal of the Science of Food and Agriculture 60:165',
);

export const FERREIRA_2000 = recalled(
  'Ferreira, Lopez & Cacho 2000, Journal of the Science of Food and Agriculture 80:1659',
);
export const CROWELL_1975 = recalled(
  'Crowell & Guymon 1975, American Journal of Enology and Viticulture 26:97',
);
export const SIMPSON_1978 = recalled('Simpson 1978, Vitis 17:274');
export const JIRANEK_1995 = recalled(
  'Jiranek et al. 1995, American Journal of Enology and Viticulture 46:75',
);
export const CLAPPERTON_1976 = recalled('Clapperton et al. 1976, Journal of the Institute of Brewing 82:175');
export const VRIESEKOOP_2012 = recalled(
  'Vriesekoop et al. 2012, Journal of the Institute of Brewing 118:335',
);
export const GUTH_1997 = recalled('Guth 1997, Journal of Agricultural and Food Chemistry 45:3027');
export const BAMFORTH_2014 = recalled('Bamforth 2014, as quoted by others');
export const RAPP_1993 = recalled('Rapp, Versini & Ullemeyer 1993, Vitis 32:61');
export const ISO_3972 = recalled(
  'ISO 3972:2011, sensitivity of taste (the substance; the strength is our own)',
);

// Terminology and reference standards of the trade. What was seen of them is an abstract or a first page.
export const TERMS_1979 = recalled(
  'Meilgaard, Dalgliesh & Clapperton 1979, Journal of the Institute of Brewing 85:38 (the term; the wording is our own)',
);
export const STANDARDS_1982 = recalled(
  'Meilgaard, Reid & Wyborski 1982, Journal of the ASBC 40:119 (the substance; the strength is our own)',
);
export const ISO_5492 = recalled(
  'ISO 5492:2008, vocabulary of sensory analysis (the term; the wording is our own)',
);

/** A publication known for what it says, of which this one figure is recalled. */
export const unread = ({ text }: Citation): Citation => recalled(text);
