import type { Catalogue } from '../types.ts'

/** French. From memory: not read by a native speaker of the trade. */
export const CAUTIONS: Catalogue['cautions'] = {
  'Carbon dioxide:':
    'Gaz carbonique : ventilateurs et détecteur en marche, aérer d’abord ; au-dessus de 5 000 ppm rester peu et aérer, au-dessus de 30 000 ppm sortir aussitôt.',
  'Confined space:':
    'Espace confiné : ni tête ni corps dans une cuve, un tambour ou une fosse sans permis, mesure de l’air, surveillant dehors et moyen de vous sortir. Un ventilateur ne suffit pas.',
  'Sulphur dioxide:':
    'Dioxyde de soufre : masque à filtre gaz acides, lunettes et gants ; jamais ouvrir le sac sur du moût humide ; personne d’asthmatique ; limite dans l’air 2 à 5 ppm, sortir si ça pique.',
  'Caustic, acid and peracetic acid burn:':
    'Soude, acides et peracétique brûlent : gants, lunettes, tablier ; verser dans l’eau, ne jamais mélanger, rincer longtemps.',
  'Hot water and steam scald:': 'Eau chaude et vapeur brûlent : gants, tuyaux fermés, ouvrir les vannes lentement.',
  'Heavy or awkward load:':
    'Charge lourde ou malcommode : deux personnes ou un lève-charge ; un petit fût plein ou un fût vide pèse 45 à 60 kg.',
  'Forklift:': 'Chariot : conducteur autorisé seulement, piétons hors du passage, klaxon aux portes.',
  'Under pressure:': 'Sous pression : soupape libre, tuyaux attachés, faire tomber la pression avant d’ouvrir.',
  'Lock out and tag': 'Couper et consigner le courant avant de débloquer ou d’y mettre la main.',
  'Dust of powders': 'Poussière de poudres et d’adjuvants : masque, pas de ventilateur sur le sac.',
  'Nitrogen, argon and carbon dioxide take':
    'Azote, argon et gaz carbonique chassent l’air sans odeur : aérer, détecteur en marche.',
  'Degassing can throw':
    'Le dégazage peut faire jaillir la mousse : peu à la fois, à côté du couvercle, pas au-dessus.',
  'Height:': 'Hauteur : échelle tenue, garde-corps et trappes fermés, seulement les passerelles.',
  'Reagents:': 'Réactifs : lunettes et gants, pipette à poire, savoir où est le rince-œil.',
  'Local safety rules': 'Les règles de sécurité locales et celles de la maison passent d’abord.',
  'Tractors and sprayers':
    'Tracteurs et pulvérisateurs passent dans les rangs : soyez visible et n’entrez pas avant le délai après traitement.',
  'Stand clear of the tipping':
    'Restez hors de la zone de bennage. Des guêpes viennent avec le raisin : sachez qui y est allergique.',
  'Cold room:': 'Chambre froide : quelqu’un sait que vous y êtes et la porte s’ouvre de l’intérieur.',
  'Moving belt:': 'Tapis en marche : manches et cheveux attachés, cordon d’arrêt à portée.',
  'Guards on before': 'Protections en place avant le courant. La neige carbonique brûle la peau.',
  'Glycol: look': 'Glycol : chercher les fuites à l’échangeur avant de passer du vin.',
  'No head in the tank': 'Pas de tête dans la cuve : elle est sous gaz.',
  'Door interlock': 'Sécurité de porte en marche ; aucun bras dans un tambour qui peut tourner.',
  'The pit and the pan': 'La fosse et la maie retiennent du gaz.',
  'Enzyme powder': 'La poudre d’enzyme rend allergique : pas de poussière, gants.',
  'The floor is slippery': 'Le sol glisse à cause du marc.',
  'Check the glycol lines': 'Vérifier les conduites de glycol ; glace et sol mouillé sous les vannes.',
  'Check every valve twice': 'Vérifier chaque vanne deux fois avant de lancer la pompe.',
  'Racks strapped': 'Supports sanglés et d’aplomb avant d’y mettre du vin.',
  'Nobody alone in a fermenting': 'Personne seul la nuit dans une salle qui fermente.',
  'Oxygen bottle:': 'Bouteille d’oxygène : attachée, sans graisse, sans flamme.',
  'Copper sulphate is': 'Le sulfate de cuivre est toxique : gants, lunettes, pesé seulement au labo.',
  'Two people: one works': 'Deux personnes : l’une travaille, l’autre surveille.',
  'Night reading:': 'Relevé de nuit : deux personnes, ou quelqu’un dehors qui attend votre retour.',
  'Ice and wet floors under': 'Glace et sol mouillé sous les vannes.',
  'The emptied tank': 'La cuve vidée est pleine de gaz : personne ne se penche dedans.',
  'Frozen culture:': 'Culture congelée : gants isolants.',
  'Immersion heater': 'Thermoplongeur ou plaque : mis à la terre, jamais à sec, loin des câbles.',
  'Work outdoors': 'Travailler dehors ou ventilateurs en marche ; un détecteur qui alerte à 2 ppm.',
  'Gas push below': 'Pousser au gaz sous 0,3 bar : un fût n’est pas un appareil à pression.',
  'Allergens:': 'Allergènes : laver, séparer, noter.',
  'Ice on valves': 'Glace sur vannes et sols ; les mains nues collent au métal froid.',
  'Nobody enters alone': 'Personne n’entre seul sous 19 % d’oxygène.',
  'SO2, caustic and acid stores:':
    'Réserves de SO2, soude et acides : ouvrir la porte, laisser l’air changer, puis entrer.',
}
