/** A source, and what was in fact read of it. Often only the opening of a page: the rest of a number's field is common practice. */
export interface Reference {
  readonly id: string
  readonly cite: string
  readonly readAt: string
  readonly read: string
}

/** Laws were read in kept copies and can be out of date: check the text in force before calling a limit legal. */
export const REFERENCES: readonly Reference[] = [
  {
    id: 'S1',
    cite: 'OIV, International Code of Oenological Practices, Part II ch.1 Grapes: II.1.1 Sorting, II.1.2 Crushing',
    readAt: 'oiv.int (opening)',
    read: 'crush at once on arrival; avoid crushing seeds/stems, avoid extra solids; avoid excessive contact with solids for white wine except maceration on skins',
  },
  {
    id: 'S2',
    cite: 'OIV, Resolution OENO 11/2005, Prefermentative cold maceration for making white wines',
    readAt: 'mirror of oiv.int (full text)',
    read: 'purpose: release skin compounds and aroma precursors; length and temperature adapted; manage oxidation; avoid heavy phenolic extraction from excessive sulphiting, too warm or too long; judge fruit health first',
  },
  {
    id: 'S3',
    cite: 'OIV, Code I.4.9 White wine with maceration (Resolution OIV-ECO 647-2020)',
    readAt: 'oiv.int (full text)',
    read: 'white varieties only, contact with pomace, minimum maceration 1 month, amber colour, tannic',
  },
  {
    id: 'S4',
    cite: 'OIV, Code I.4.6 Sweet wines with residual sugar derived from grapes',
    readAt: 'oiv.int (excerpt)',
    read: 'glucose+fructose >= 45 g/L from partial fermentation',
  },
  {
    id: 'S5',
    cite: 'OIV, Code II.3.4.1 Topping up (5/88)',
    readAt: 'oiv.int (full text)',
    read: 'keep the container always full; top with the same wine or wine of similar characteristics',
  },
  {
    id: 'S6',
    cite: 'OIV, Code II.3.2.3 Racking',
    readAt: 'oiv.int (opening)',
    read: 'transfer between containers that separates deposits',
  },
  {
    id: 'S7',
    cite: 'OIV, Code II.3.5.12.2 Usage of pieces of oak wood in winemaking (OENO 9/01), 2015 sheet',
    readAt: 'public copy of the sheet (full)',
    read: 'objective is only to bring certain oak wood constituents into wine; not charred; quantity free',
  },
  {
    id: 'S8',
    cite: 'OIV, Oenological Codex COEI-1-WOOPIE Pieces of oak wood',
    readAt: 'oiv.int (excerpt)',
    read: 'Quercus only; 95 % by weight held by a 2 mm mesh; label must state toast intensity',
  },
  {
    id: 'S9',
    cite: 'OIV, Code II.4.1.1 Base wine',
    readAt: 'oiv.int (full text)',
    read: 'VA always low, SO2 low, clarified without oxidation; no ascorbic, sorbic or metatartaric acid',
  },
  {
    id: 'S10',
    cite: 'OIV, Resolution OENO 7/2003 Sulphiting (wines)',
    readAt: 'mirror of oiv.int (full text)',
    read: 'objectives and ways of SO2 addition',
  },
  {
    id: 'S11',
    cite: 'US 27 CFR 24.300 General (records)',
    readAt: 'public copy of the code (opening)',
    read: 'entry at the time of the operation, or from retained source records by close of the 3rd business day after; litres or wine gallons; source records kept',
  },
  {
    id: 'S12',
    cite: 'US 27 CFR 24.314 Label information record (2008 print)',
    readAt: 'web archive, 2008 print (full)',
    read: 'no label claim without a complete record trail from source material to removal',
  },
  {
    id: 'S13',
    cite: 'US 27 CFR 24.317 Sugar record (2013)',
    readAt: 'law.cornell.edu (full)',
    read: 'receipt and use of sugar: date, kind, quantity; balance each period',
  },
  {
    id: 'S14',
    cite: 'US 27 CFR 24.320 Chemical record (2008 print)',
    readAt: 'web archive, 2008 print (full)',
    read: 'purchase, receipt, disposition of chemicals; use record with kind, quantity, date, kind and volume of wine, except filter aids, inert fining agents, SO2, CO2, N2, O2',
  },
  {
    id: 'S15',
    cite: 'US 27 CFR 24.302 Effervescent wine record (2022)',
    readAt: 'public copy of the code (full)',
    read: 'volume filled for secondary fermentation, dosage, losses',
  },
  {
    id: 'S16',
    cite: 'US 27 CFR 24.246 and 24.241',
    readAt: 'public copies of the code (openings)',
    read: 'water used to disperse additions <= 1 % of volume; activated carbon limit 3 g/L',
  },
  {
    id: 'S17',
    cite: 'US 27 CFR 4.21 and 4.22 (2019 / 2004 prints)',
    readAt: 'public copies of the code, 2004 and 2019',
    read: 'VA limit 0.14 g/100 mL red, 0.12 other; 0.15 white from juice >= 28 Brix; total SO2 350 ppm',
  },
  {
    id: 'S18',
    cite: 'Implementing Regulation (EU) 2018/274 Art. 13-14',
    readAt: 'legislation.gov.uk (opening)',
    read: 'register records entry and withdrawal of each batch, product category, the operations of Art. 29 of 2018/273; forms: numbered leaves, electronic record, approved accounting system; separate accounts per PDO/PGI/variety',
  },
  {
    id: 'S19',
    cite: 'Delegated Regulation (EU) 2018/273 Art. 28 (UK-kept text)',
    readAt: 'legislation.gov.uk (opening)',
    read: 'register per undertaking, kept where the products are; stocks checkable at any time',
  },
  {
    id: 'S20',
    cite: 'Delegated Regulation (EU) 2019/934 Annex I Part B (UK-kept text)',
    readAt: 'legislation.gov.uk (opening)',
    read: 'total SO2 <= 200 mg/L white, 250 with >= 5 g/L sugar, 300+ for listed sweet wines',
  },
  {
    id: 'S21',
    cite: 'Wine Australia, What are we looking for during a routine Label Integrity Audit? (9 Jul 2019)',
    readAt: 'wineaustralia.com (full)',
    read: 'record transfers, processes, vessels (each individually identifiable), gains and losses, changes of vintage/variety/GI composition',
  },
  {
    id: 'S22',
    cite: 'Triggs R., National Liquor News Apr 2019 (Australian 85 % rule)',
    readAt: 'trade paper (excerpt)',
    read: 'each of vintage, variety, region claimed needs >= 85 %',
  },
  {
    id: 'S23',
    cite: 'AWRI, Ask the AWRI: malolactic fermentation issues explored',
    readAt: 'trade site (opening)',
    read: 'balance pH 3.3-3.5; free SO2 < 5-10, total < 30-40 mg/L; <= 50 mg/L total added before crushing does no harm; lower limit about pH 3.0; factors add up',
  },
  {
    id: 'S24',
    cite: 'AWRI Fact sheet, MLF in white and sparkling wines (Sep 2020)',
    readAt: 'public copy of the sheet (opening)',
    read: 'hostile: pH 2.9-3.4, total SO2 up to 50-60 mg/L, down to 12 C',
  },
  {
    id: 'S25',
    cite: 'AWRI, Winemaking treatment - MLF timing',
    readAt: 'awri.com.au (opening)',
    read: 'co-inoculation used 48 h after primary began; stuck MLF leaves wine unprotected for weeks or months',
  },
  {
    id: 'S26',
    cite: 'Broggi M., Malolactic fermentation: promotion or prevention (2024)',
    readAt: 'trade site (opening)',
    read: 'best above 20 C, inhibited below 15 C; harder below pH 3.3',
  },
  {
    id: 'S27',
    cite: 'AWRI eBulletin 27 Mar 2013, slow sluggish and stuck fermentations',
    readAt: 'awri.com.au (opening)',
    read: 'read sugar and temperature twice daily and plot; whites below 15 C do not ferment well; keep temperature stable',
  },
  {
    id: 'S28',
    cite: 'AWRI Fact sheet, Procedure for rescue of stuck or slow alcoholic fermentation (Mar 2020)',
    readAt: 'public copy of the sheet (opening)',
    read: 'for > 12 % v/v and > 5-10 g/L; wait for a started MLF to finish, then free SO2 30 mg/L (pH 3.5) 24 h; VA > 1.0 g/L is toxic; viability < 60-70 % confirms',
  },
  {
    id: 'S29',
    cite: 'AWRI, Active dry wine yeast rehydration',
    readAt: 'awri.com.au (opening)',
    read: '25 g/hL; 20 g/hL high solids; up to double for clear, high sugar, or free SO2 > 10-15 / total > 30-50 mg/L',
  },
  {
    id: 'S30',
    cite: 'AWRI, Top tips for a successful yeast culture',
    readAt: 'public copy (opening)',
    read: 'cool culture to within 5-10 C of juice in steps of 5-10 C over 10-20 min; viability > 90 %',
  },
  {
    id: 'S31',
    cite: 'Yeast supplier rehydration note',
    readAt: 'supplier page (opening)',
    read: '20 min stand; live count falls after 30 min; water at 40 C',
  },
  {
    id: 'S32',
    cite: 'Winetech Technical Yearbook 2021 p.151',
    readAt: 'yearbook page (excerpt)',
    read: '50-150 NTU advised, about 100 NTU best balance',
  },
  {
    id: 'S33',
    cite: 'AWRI, Winemaking treatment - varying grape solids in white wine fermentation',
    readAt: 'awri.com.au (opening)',
    read: 'more solids: faster, fewer stuck, faster MLF, fewer esters, more sulfur compounds',
  },
  {
    id: 'S34',
    cite: 'Ting J., Winemakers Research Exchange, cold settling vs flotation (2016, 2017)',
    readAt: 'winemakersresearchexchange.com (openings)',
    read: 'cold settling near 0 C takes 1-2 days and chiller and a tank; flotation overnight, less lees loss',
  },
  {
    id: 'S35',
    cite: 'Ramey D. et al. 1986, Am J Enol Vitic 37:99-106',
    readAt: 'ajevonline.org (abstract)',
    read: 'skin contact 20-25 h at 9-30 C: warmer = more phenolics; below 15 C keeps protein and bentonite need lowest',
  },
  {
    id: 'S36',
    cite: 'AWRI, Winemaking treatment - skin contact',
    readAt: 'awri.com.au (opening)',
    read: 'trial at 72 h; machine-picked fruit already has skin contact in transport',
  },
  {
    id: 'S37',
    cite: 'Patterson T., Wines & Vines Oct 2013, skin contact for whites',
    readAt: 'trade paper (excerpt)',
    read: 'few hours to overnight to 24 h, well under 60 F; SO2 raises phenolic extraction, so add after pressing',
  },
  {
    id: 'S38',
    cite: 'Pressing (wine), encyclopaedia copy',
    readAt: 'encyclopaedia copy',
    read: 'batch presses 2-4 h a load; free run 60-70 % of the juice',
  },
  {
    id: 'S39',
    cite: 'Champagne pressing rules, secondary pages',
    readAt: 'secondary pages',
    read: '160 kg -> 102 L; 4,000 kg -> 2,050 L cuvee + 500 L taille; SO2 5-10 g/hL as juice leaves the press; press emptied and washed after each load; presses 2,000-12,000 kg',
  },
  {
    id: 'S40',
    cite: 'Trade supplier, Making quality sparkling wine',
    readAt: 'supplier page (opening)',
    read: 'settle 12-24 h, pectolytic enzyme 3-5 mL/hL',
  },
  {
    id: 'S41',
    cite: 'AWRI, Stability analysis; Measurement of heat stability',
    readAt: 'awri.com.au (openings)',
    read: 'heat: 80 C 2 h, cool 3 h, change < 2 NTU passes; cold: -4 C 72 h no crystals',
  },
  {
    id: 'S42',
    cite: 'Waters et al. in Wine Chemistry and Biochemistry 6C.7',
    readAt: 'book copy (excerpt)',
    read: 'bentonite reacts in minutes, settles in days to a week, 5-10 % of wine held in lees',
  },
  {
    id: 'S43',
    cite: 'AWRI, Packaging FAQ',
    readAt: 'awri.com.au (opening)',
    read: '5-10 mg/L free SO2 lost at packaging, aim 5 mg/L above; after copper delay bottling at least a week',
  },
  {
    id: 'S44',
    cite: 'Dharmadhikari M., Iowa State Univ. Extension, Treatment for removal of H2S',
    readAt: 'extension.iastate.edu',
    read: 'bench trial 0.05-0.2, up to 0.5 mg/L Cu; wait hours to overnight',
  },
  {
    id: 'S45',
    cite: 'Wine production text ch.13 Pre-bottling adjustments',
    readAt: 'book page (opening)',
    read: 'depth filter within 24 h before the membrane, else repeat',
  },
  {
    id: 'S46',
    cite: 'Free SO2 for 0.5/0.8/1.5 molecular, table',
    readAt: 'trade paper calculator (full)',
    read: 'pH 3.2: 20, pH 3.3: 26, pH 3.5: 40 mg/L free for 0.8 (another table, vawa.net, gives 22, 28, 44: pKa choice)',
  },
  {
    id: 'S47',
    cite: 'Practical Winery & Vineyard Jan/Feb 2009, How much SO2',
    readAt: 'trade paper (excerpt)',
    read: 'store whites at 0.5-0.8 molecular, high side if sweet or to hold off MLF; total below 110 mg/L for taste',
  },
  {
    id: 'S48',
    cite: 'Mid-winter check-in 2024/25',
    readAt: 'trade paper (opening)',
    read: 'dry below 4 g/L; malic below 0.1 g/L = done; add 30-50 mg/L; recheck in 1-2 weeks; then about monthly',
  },
  {
    id: 'S49',
    cite: 'Is MLF testing necessary',
    readAt: 'trade paper (opening)',
    read: 'commercial cellars test MLF every two weeks; wine is exposed once it ends',
  },
  {
    id: 'S50',
    cite: 'Gardner D., Penn State Extension, Summer in the cellar (2016)',
    readAt: 'trade site (opening)',
    read: 'barrels topped every month or two; list of pre-bottling analyses',
  },
  {
    id: 'S51',
    cite: 'Gardner D., post-fermentation tips; fermentation records',
    readAt: 'author’s site (openings)',
    read: 'rack off gross lees about 24 h after the end; record fruit data, dose rate, amount, lot number and expiry of each addition; paper on the floor gets lost',
  },
  {
    id: 'S52',
    cite: 'Comparing batonnage methods, Vineyard & Winery Mgmt Jan/Feb 2014',
    readAt: 'trade paper (excerpt)',
    read: 'stirring starts after primary, weekly, then by taste; rolling avoids opening',
  },
  {
    id: 'S53',
    cite: 'Winemakers Research Exchange, Chardonnay lees 2016',
    readAt: 'winemakersresearchexchange.com (openings)',
    read: 'weekly stirring for 8 weeks',
  },
  {
    id: 'S54',
    cite: 'Zoecklein B., Virginia Tech, Enology Notes 106 (2005)',
    readAt: 'enology.fst.vt.edu (opening)',
    read: 'lees decisions: solids, stirring method and frequency, vessel, duration, MLF, racking, SO2 timing, topping frequency',
  },
  {
    id: 'S55',
    cite: 'Sur lie aging',
    readAt: 'trade paper (openings)',
    read: 'what falls in 24 h is gross lees; fine lees take days',
  },
  {
    id: 'S56',
    cite: 'Barrel loss and topping, trade pages',
    readAt: 'trade pages',
    read: '1 to 9 % a year, average 4-5 %; monthly topping, new barrels sooner; about an inch in three weeks',
  },
  {
    id: 'S57',
    cite: 'Barrel preparation and storage, cooperage and trade notes',
    readAt: 'cooperage and trade pages',
    read: '12 h per head cold or hot-water rinse, or 24-48 h full soak; SO2 gas empty barrels every 4 to 6 weeks; 70-80 % humidity',
  },
  {
    id: 'S58',
    cite: 'Robinson J. (ed) 2006, Oxford Companion: size of container; W&V Apr 2016 p.43; Goode J. 2023',
    readAt: 'book and trade paper pages',
    read: 'above 570 L little oak flavour; barrels retired after 5-6 years as extractables run out; oxygen per litre falls with size',
  },
  {
    id: 'S59',
    cite: 'Stopping fermentation',
    readAt: 'trade paper (opening)',
    read: 'SO2 alone does not stop it: chill (-5 to -2 C ideal, 4 C works) plus 2 mg/L molecular, settle 24 h or more',
  },
  {
    id: 'S60',
    cite: 'OSHA/OR-OSHA on winery CO2 and tanks',
    readAt: 'osha.gov; ohsonline.com; trade page',
    read: 'PEL 5,000 ppm; STEL 30,000 ppm; tanks are permit-required confined spaces; a fan alone is not enough, test the air',
  },
  {
    id: 'S61',
    cite: 'SO2 exposure limits',
    readAt: 'safety pages; one by title only',
    read: 'OSHA PEL 5 ppm, NIOSH 2 ppm / 5 ppm 15 min, IDLH 100 ppm',
  },
  {
    id: 'S62',
    cite: 'Fermentation heat and cooling, trade page',
    readAt: 'trade page (opening)',
    read: '21.8 Brix would heat itself 28 C; up to 20 % leaves with gas and walls; 12-16 C whites take 3-6 weeks; 1 kW per 20,000 L at 28 days',
  },
  {
    id: 'S63',
    cite: 'le Roux J., Purchas K., Nell B., SA J Enol Vitic, Refrigeration requirements',
    readAt: 'journals.ac.za (abstract)',
    read: 'design inputs: daily intake, grape temperature, precool period, rate, 15 % gain; example 26 to 15 C in 22 h',
  },
  {
    id: 'S64',
    cite: 'Fermentations 8(6):268 (2022) intro',
    readAt: 'stored copy (introduction)',
    read: 'white 14-20 C, 1-3 weeks; YAN 100-300 mg/L, often raised',
  },
  {
    id: 'S65',
    cite: 'Notes on yeast nitrogen, trade page',
    readAt: 'trade page (openings)',
    read: '140 mg/L minimum at 21 Brix (many call it too low); half at start, rest at one-third sugar drop; late additions useless. NB it gives 22.5 mg/L N per 100 mg/L DAP; stoichiometry gives 21.2',
  },
  {
    id: 'S66',
    cite: 'VA notes',
    readAt: 'laboratory and university pages',
    read: 'yeast makes 0.3-0.5 g/L, MLF 0.15-0.30; EU 1.08 g/L white. NB UC Davis page says 1.1 white for the US; 27 CFR 4.21 says 1.2',
  },
  {
    id: 'S67',
    cite: 'Tirage and prise de mousse, supplier',
    readAt: 'supplier page (opening)',
    read: 'base wine 10-11 % vol, pH 2.9-3.2, > 10 C, free SO2 about 10 mg/L; dissolved CO2 hinders',
  },
  {
    id: 'S68',
    cite: 'Post-harvest reflection',
    readAt: 'trade site (opening)',
    read: 'have the line clean and ready the evening before; morning meeting; machine loads arrive before the team',
  },
  {
    id: 'S69',
    cite: 'Payette T., Pre-harvest planning (2020)',
    readAt: 'trade paper (opening)',
    read: 'large erasable calendar; forecast empty tank capacity; have an overrun plan',
  },
  {
    id: 'S70',
    cite: 'Tips for harvest interns (2010 thread)',
    readAt: 'trade forum (opening)',
    read: 'know the morning movement review; jobs are reshuffled when a machine or a person fails; check every valve; phones get crushed or soaked',
  },
  {
    id: 'S71',
    cite: 'GS1, Wine Supply Chain Traceability Application Guideline (2005, rev. 2008)',
    readAt: 'public copies (openings)',
    read: 'actors and record duties from grower to retailer; links to Reg. (EC) 178/2002',
  },
  {
    id: 'S72',
    cite: "Producer's harvest diary 23 Sep 2009",
    readAt: 'producer’s diary (opening)',
    read: 'press has a minimum and maximum load; last loads of the day must be juggled; press stopped in the evening session',
  },
  {
    id: 'S73',
    cite: 'Ough C., Amerine M., California Bulletin 827 (1966)',
    readAt: 'archive.org (opening)',
    read: 'below 10 C yeast growth very slow; warm whites lose aroma',
  },
  {
    id: 'S74',
    cite: 'Coetzee C., Juice solids 101; Day M., oxygen in must (AWRI)',
    readAt: 'trade and journal pages (openings)',
    read: 'fresh must up to 20 % solids; crushing is where most oxygen enters',
  },
  {
    id: 'S75',
    cite: 'AWRI, Pre-bottling adjustments and specifications',
    readAt: 'awri.com.au (opening)',
    read: 'bottlers ask for stable wine and a turbidity limit',
  },
]

const BY_ID: ReadonlyMap<string, Reference> = new Map(REFERENCES.map((reference) => [reference.id, reference]))

export const referenceOf = (id: string): Reference | undefined => BY_ID.get(id)

/** Who says it, short enough for a dose on the floor: `AWRI`, `US 27 CFR 24.246 and 24.241`. */
const shortNameOf = (id: string): string => referenceOf(id)?.cite.split(', ')[0] ?? id

/** Sources by name, each once: `AWRI` for two of its pages. */
export const sourceNames = (ids: readonly string[]): string => [...new Set(ids.map(shortNameOf))].join(', ')

/** Ids in a text become names: they mean nothing to whoever weighs a dose. */
export const withSourceNames = (text: string): string => text.replace(/\bS\d{1,3}\b/g, shortNameOf)
