import type { Catalogue } from '../types.ts'

/** German. From memory: not read by a native speaker of the trade. */
export const CAUTIONS: Catalogue['cautions'] = {
  'Carbon dioxide:':
    'Kohlendioxid: Lüfter an, Messgerät an, zuerst lüften; über 5.000 ppm nur kurz bleiben und lüften, über 30.000 ppm sofort raus.',
  'Confined space:':
    'Enger Raum: kein Kopf und kein Körper in Tank, Trommel oder Grube ohne Erlaubnisschein, Luftmessung, Wache draußen und Mittel zum Herausziehen. Ein Lüfter allein reicht nicht.',
  'Sulphur dioxide:':
    'Schwefeldioxid: Maske mit Säuregasfilter, Brille und Handschuhe; den Sack nie über nasser Maische öffnen; niemand mit Asthma; Luftgrenze 2 bis 5 ppm, gehen, wenn es beißt.',
  'Caustic, acid and peracetic acid burn:':
    'Lauge, Säure und Peressigsäure ätzen: Handschuhe, Brille, Schürze; ins Wasser geben, nie mischen, lange spülen.',
  'Hot water and steam scald:':
    'Heißes Wasser und Dampf verbrühen: Handschuhe, geschlossene Schläuche, Ventile langsam öffnen.',
  'Heavy or awkward load:':
    'Schwere oder sperrige Last: zu zweit oder mit Heber; ein volles Keg oder leeres Fass wiegt 45 bis 60 kg.',
  'Forklift:': 'Stapler: nur mit Schein, Fußgänger aus dem Weg, Hupe an den Türen.',
  'Under pressure:':
    'Unter Druck: Sicherheitsventil frei, Schläuche gesichert, Druck ablassen, bevor etwas geöffnet wird.',
  'Lock out and tag': 'Strom abschalten und sichern, bevor ein Stau gelöst oder hineingegriffen wird.',
  'Dust of powders': 'Staub von Pulvern und Filterhilfen: Maske, kein Lüfter auf den Sack.',
  'Nitrogen, argon and carbon dioxide take':
    'Stickstoff, Argon und Kohlendioxid verdrängen die Luft ohne Geruch: lüften, Messgerät an.',
  'Degassing can throw':
    'Beim Entgasen kann Schaum herausschießen: wenig auf einmal, neben dem Deckel stehen, nicht darüber.',
  'Height:': 'Höhe: Leiter gehalten, Geländer und Deckel zu, nur auf den Laufstegen.',
  'Reagents:': 'Reagenzien: Brille und Handschuhe, Pipette mit Ball, wissen, wo die Augendusche ist.',
  'Local safety rules': 'Örtliche Sicherheitsregeln und die des Betriebs gehen vor.',
  'Tractors and sprayers':
    'Traktoren und Spritzen fahren in denselben Zeilen: sichtbar sein und bis zum Ende der Wiederbetretungszeit draußen bleiben.',
  'Stand clear of the tipping':
    'Aus dem Kippbereich bleiben. Mit den Trauben kommen Wespen: wissen, wer auf Stiche reagiert.',
  'Cold room:': 'Kühlraum: jemand weiß, dass Sie drin sind, und die Tür geht von innen auf.',
  'Moving belt:': 'Laufendes Band: Ärmel und Haare gebunden, Reißleine in Reichweite.',
  'Guards on before': 'Schutzhauben zu, bevor der Strom angeht. Trockeneis verbrennt die Haut.',
  'Glycol: look': 'Glykol: am Wärmetauscher auf Lecks sehen, bevor Wein durchläuft.',
  'No head in the tank': 'Kein Kopf in den Tank: er steht unter Gas.',
  'Door interlock': 'Türverriegelung in Funktion; keine Arme in eine Trommel, die sich drehen kann.',
  'The pit and the pan': 'In Grube und Wanne steht Gas.',
  'Enzyme powder': 'Enzympulver macht allergisch: kein Staub, Handschuhe.',
  'The floor is slippery': 'Der Boden ist vom Trester rutschig.',
  'Check the glycol lines': 'Glykolleitungen auf Lecks prüfen; Eis und nasser Boden unter den Ventilen.',
  'Check every valve twice': 'Jedes Ventil zweimal prüfen, bevor die Pumpe startet.',
  'Racks strapped': 'Gestelle verzurrt und eben, bevor Wein hineinkommt.',
  'Nobody alone in a fermenting': 'Nachts niemand allein in einem Gärraum.',
  'Oxygen bottle:': 'Sauerstoffflasche: angekettet, kein Fett, keine Flamme.',
  'Copper sulphate is': 'Kupfersulfat ist giftig: Handschuhe, Brille, nur im Labor wiegen.',
  'Two people: one works': 'Zwei Personen: eine arbeitet, eine passt auf.',
  'Night reading:': 'Nachtmessung: zu zweit, oder jemand draußen, der Sie zurückerwartet.',
  'Ice and wet floors under': 'Eis und nasser Boden unter den Ventilen.',
  'The emptied tank': 'Der geleerte Tank ist voll Gas: niemand beugt sich hinein.',
  'Frozen culture:': 'Gefrorene Kultur: isolierende Handschuhe.',
  'Immersion heater': 'Tauchsieder oder Heizplatte: geerdet, nie trocken, von Kabeln fern.',
  'Work outdoors': 'Im Freien oder mit Lüftern arbeiten; ein Messgerät, das bei 2 ppm warnt.',
  'Gas push below': 'Gasdruck unter 0,3 bar: ein Fass ist kein Druckbehälter.',
  'Allergens:': 'Allergene: abwaschen, getrennt halten, aufschreiben.',
  'Ice on valves': 'Eis an Ventilen und Böden; bloße Hände kleben am kalten Metall.',
  'Nobody enters alone': 'Niemand geht bei unter 19 % Sauerstoff allein hinein.',
  'SO2, caustic and acid stores:': 'Lager für SO2, Lauge und Säure: Tür öffnen, Luft wechseln lassen, dann hinein.',
}
