/** Where the documents a calculation names can be read. Addresses are the publishers' own; check the text in force there. */
export interface Document {
  /** How a calculation's source names it. */
  readonly named: RegExp
  readonly cite: string
  readonly address: string
}

export const DOCUMENTS: readonly Document[] = [
  doc(
    /Coleman, Fish & Block 2007/,
    'Coleman, Fish & Block 2007, Appl. Environ. Microbiol. 73:5875-5884',
    'https://doi.org/10.1128/aem.00670-07',
  ),
  doc(
    /OIV-MA-|OIV Code|OIV code|\bOIV\b/,
    'OIV, compendium of methods and code of practices',
    'https://www.oiv.int/standards',
  ),
  doc(/2019\/934/, 'Delegated Regulation (EU) 2019/934', 'https://eur-lex.europa.eu/eli/reg_del/2019/934/oj'),
  doc(
    /203\/2012/,
    'Implementing Regulation (EU) 203/2012, organic wine',
    'https://eur-lex.europa.eu/eli/reg_impl/2012/203/oj',
  ),
  doc(/27 CFR 4\.22/, '27 CFR 4.22', 'https://www.ecfr.gov/current/title-27/section-4.22'),
  doc(/27 CFR 24\.246/, '27 CFR 24.246', 'https://www.ecfr.gov/current/title-27/section-24.246'),
  doc(
    /29 CFR 1910\.146/,
    '29 CFR 1910.146, permit-required confined spaces',
    'https://www.ecfr.gov/current/title-29/section-1910.146',
  ),
  doc(
    /NIOSH/,
    'NIOSH, immediately dangerous concentrations: carbon dioxide',
    'https://www.cdc.gov/niosh/idlh/124389.html',
  ),
  doc(/EH40/, 'EH40/2005 workplace exposure limits', 'https://www.hse.gov.uk/pubns/books/eh40.htm'),
  doc(/OSHA/, 'OSHA, chemical database', 'https://www.osha.gov/chemicaldata'),
  doc(/NIST SP 811/, 'NIST Special Publication 811, appendix B', 'https://www.nist.gov/pml/special-publication-811'),
  doc(
    /AWRI/,
    'Australian Wine Research Institute, fact sheets',
    'https://www.awri.com.au/information_services/fact-sheets/',
  ),
  doc(/AJEV/, 'American Journal of Enology and Viticulture', 'https://www.ajevonline.org'),
  doc(/Purdue FS-53-W/, 'Purdue Extension FS-53-W', 'https://www.extension.purdue.edu/extmedia/fs/fs-53-w.pdf'),
  doc(/Iowa State/, 'Iowa State University Extension, wine', 'https://www.extension.iastate.edu/wine'),
  doc(/WINETECH/, 'Winetech, technical yearbook', 'https://www.winetech.co.za'),
]

/** The documents that a line of sources names, in the order of the list. */
export const documentsOf = (source: string): readonly { readonly cite: string; readonly address: string }[] =>
  DOCUMENTS.filter((d) => d.named.test(source)).map(({ cite, address }) => ({ cite, address }))

function doc(named: RegExp, cite: string, address: string): Document {
  return { named, cite, address }
}
