import type { Catalogue } from '../types.ts'

/** Italian. From memory: not read by a native speaker of the trade. */
export const CAUTIONS: Catalogue['cautions'] = {
  'Carbon dioxide:':
    'Anidride carbonica: ventilatori e rilevatore accesi, prima arieggiare; sopra 5.000 ppm restare poco e arieggiare, sopra 30.000 ppm uscire subito.',
  'Confined space:':
    'Spazio confinato: né testa né corpo in vasca, tamburo o fossa senza permesso, prova dell’aria, sorvegliante fuori e modo per estrarla. Un ventilatore non basta.',
  'Sulphur dioxide:':
    'Anidride solforosa: maschera con filtro per gas acidi, occhiali e guanti; mai aprire il sacco sul mosto umido; nessuno con asma; limite nell’aria 2-5 ppm, uscire se pizzica.',
  'Caustic, acid and peracetic acid burn:':
    'Soda, acidi e peracetico bruciano: guanti, occhiali, grembiule; versare nell’acqua, mai mescolare, sciacquare a lungo.',
  'Hot water and steam scald:': 'Acqua calda e vapore scottano: guanti, tubi chiusi, aprire piano le valvole.',
  'Heavy or awkward load:':
    'Carico pesante o scomodo: due persone o un sollevatore; un fusto pieno o una barrique vuota pesa 45-60 kg.',
  'Forklift:': 'Muletto: solo chi ha il patentino, pedoni fuori dal passaggio, clacson alle porte.',
  'Under pressure:':
    'Sotto pressione: valvola di sicurezza libera, tubi legati, togliere la pressione prima di aprire.',
  'Lock out and tag': 'Togliere e bloccare la corrente prima di sbloccare o infilare le mani.',
  'Dust of powders': 'Polvere di prodotti e coadiuvanti: maschera, niente ventilatore sul sacco.',
  'Nitrogen, argon and carbon dioxide take':
    'Azoto, argon e anidride carbonica tolgono l’aria senza odore: arieggiare, rilevatore acceso.',
  'Degassing can throw':
    'Il degasaggio può far traboccare la schiuma: poco per volta, a fianco del coperchio, non sopra.',
  'Height:': 'Altezza: scala tenuta, parapetti e coperchi chiusi, solo sulle passerelle.',
  'Reagents:': 'Reagenti: occhiali e guanti, pipetta con pera, sapere dov’è il lavaocchi.',
  'Local safety rules': 'Valgono prima le regole di sicurezza locali e quelle della casa.',
  'Tractors and sprayers':
    'Trattori e atomizzatori usano gli stessi filari: si faccia vedere e non entri prima del tempo di rientro dopo il trattamento.',
  'Stand clear of the tipping':
    'Fuori dalla zona di ribaltamento. Con l’uva arrivano le vespe: sapere chi è allergico.',
  'Cold room:': 'Cella fredda: qualcuno sa che è dentro e la porta si apre dall’interno.',
  'Moving belt:': 'Nastro in moto: maniche e capelli legati, fune d’arresto a portata.',
  'Guards on before': 'Protezioni montate prima della corrente. Il ghiaccio secco brucia la pelle.',
  'Glycol: look': 'Glicole: cercare perdite allo scambiatore prima di passare il vino.',
  'No head in the tank': 'Niente testa nella vasca: è sotto gas.',
  'Door interlock': 'Blocco della porta funzionante; niente braccia in un tamburo che può girare.',
  'The pit and the pan': 'La fossa e la vasca trattengono gas.',
  'Enzyme powder': 'La polvere di enzima dà allergia: niente polvere, guanti.',
  'The floor is slippery': 'Il pavimento è scivoloso per le vinacce.',
  'Check the glycol lines': 'Controllare le linee del glicole; ghiaccio e pavimento bagnato sotto le valvole.',
  'Check every valve twice': 'Controllare ogni valvola due volte prima di avviare la pompa.',
  'Racks strapped': 'Supporti legati e in piano prima di mettere vino.',
  'Nobody alone in a fermenting': 'Nessuno solo di notte in un locale che fermenta.',
  'Oxygen bottle:': 'Bombola di ossigeno: legata, niente grasso, niente fiamma.',
  'Copper sulphate is': 'Il solfato di rame è velenoso: guanti, occhiali, pesare solo in laboratorio.',
  'Two people: one works': 'Due persone: una lavora, una guarda.',
  'Night reading:': 'Lettura di notte: due persone, o qualcuno fuori che aspetta il ritorno.',
  'Ice and wet floors under': 'Ghiaccio e pavimento bagnato sotto le valvole.',
  'The emptied tank': 'La vasca vuotata è piena di gas: nessuno si sporge dentro.',
  'Frozen culture:': 'Coltura congelata: guanti isolanti.',
  'Immersion heater': 'Resistenza o piastra: a terra, mai a secco, lontano dai cavi.',
  'Work outdoors': 'Lavorare all’aperto o con ventilatori; un rilevatore che avvisa a 2 ppm.',
  'Gas push below': 'Spinta a gas sotto 0,3 bar: una barrique non è un recipiente in pressione.',
  'Allergens:': 'Allergeni: lavare, separare, annotare.',
  'Ice on valves': 'Ghiaccio su valvole e pavimenti; le mani nude si attaccano al metallo freddo.',
  'Nobody enters alone': 'Nessuno entra solo sotto il 19 % di ossigeno.',
  'SO2, caustic and acid stores:': 'Depositi di SO2, soda e acidi: aprire la porta, far cambiare l’aria, poi entrare.',
}
