import type { Catalogue } from '../types.ts'

/** Spanish. From memory: not read by a native speaker of the trade. */
export const CAUTIONS: Catalogue['cautions'] = {
  'Carbon dioxide:':
    'Dióxido de carbono: ventiladores y medidor encendidos, ventilar primero; por encima de 5.000 ppm poco tiempo y ventilar, por encima de 30.000 ppm salir ya.',
  'Confined space:':
    'Espacio confinado: ni la cabeza ni el cuerpo dentro de depósito, tambor o foso sin permiso, prueba del aire, vigilante fuera y modo de sacarle. Un ventilador solo no basta.',
  'Sulphur dioxide:':
    'Dióxido de azufre: máscara con filtro de gases ácidos, gafas y guantes; nunca abrir el saco sobre mosto húmedo; nadie con asma; límite en el aire 2 a 5 ppm, salir si pica.',
  'Caustic, acid and peracetic acid burn:':
    'Sosa, ácidos y peracético queman: guantes, gafas, delantal; echar al agua, nunca mezclar, aclarar mucho.',
  'Hot water and steam scald:':
    'El agua caliente y el vapor queman: guantes, mangueras cerradas, abrir las válvulas despacio.',
  'Heavy or awkward load:':
    'Carga pesada o difícil: dos personas o un elevador; un barril lleno o una barrica vacía pesa de 45 a 60 kg.',
  'Forklift:': 'Carretilla: solo con licencia, nadie a pie en su camino, bocina en las puertas.',
  'Under pressure:': 'Bajo presión: válvula de alivio libre, mangueras atadas, quitar la presión antes de abrir nada.',
  'Lock out and tag': 'Cortar y bloquear la corriente antes de quitar un atasco o meter la mano.',
  'Dust of powders': 'Polvo de productos y filtrantes: mascarilla, sin ventilador sobre el saco.',
  'Nitrogen, argon and carbon dioxide take':
    'Nitrógeno, argón y dióxido de carbono desplazan el aire sin oler: ventilar, medidor encendido.',
  'Degassing can throw': 'Al desgasificar puede salir espuma: poco a poco, al lado de la boca y no encima.',
  'Height:': 'Altura: escalera sujeta, barandillas y tapas cerradas, solo por las pasarelas.',
  'Reagents:': 'Reactivos: gafas y guantes, pipeta con pera, saber dónde está el lavaojos.',
  'Local safety rules': 'Primero valen las normas de seguridad locales y las de la casa.',
  'Tractors and sprayers':
    'Tractores y pulverizadores usan las mismas filas: hágase ver y no entre hasta pasado el plazo tras tratar.',
  'Stand clear of the tipping': 'Lejos de la zona de vuelco. Con la uva vienen avispas: sepa quién es alérgico.',
  'Cold room:': 'Cámara fría: alguien sabe que está dentro y la puerta se abre desde dentro.',
  'Moving belt:': 'Cinta en marcha: mangas y pelo recogidos, cordón de parada al alcance.',
  'Guards on before': 'Protecciones puestas antes de dar corriente. El hielo seco quema la piel.',
  'Glycol: look': 'Glicol: buscar fugas en el intercambiador antes de pasar vino.',
  'No head in the tank': 'No meter la cabeza en el depósito: está bajo gas.',
  'Door interlock': 'Enclavamiento de la puerta en funcionamiento; ningún brazo en un tambor que puede girar.',
  'The pit and the pan': 'El foso y la bandeja guardan gas.',
  'Enzyme powder': 'El polvo de enzima da alergia: sin polvo, guantes.',
  'The floor is slippery': 'El suelo resbala por los orujos.',
  'Check the glycol lines': 'Buscar fugas en las tuberías de glicol; hielo y suelo mojado bajo las válvulas.',
  'Check every valve twice': 'Revisar cada válvula dos veces antes de arrancar la bomba.',
  'Racks strapped': 'Soportes atados y nivelados antes de echar vino.',
  'Nobody alone in a fermenting': 'De noche nadie solo en una sala que fermenta.',
  'Oxygen bottle:': 'Botella de oxígeno: encadenada, sin grasa, sin llama.',
  'Copper sulphate is': 'El sulfato de cobre es venenoso: guantes, gafas, pesar solo en el laboratorio.',
  'Two people: one works': 'Dos personas: una trabaja, otra vigila.',
  'Night reading:': 'Lectura de noche: dos personas, o alguien fuera que espera su vuelta.',
  'Ice and wet floors under': 'Hielo y suelo mojado bajo las válvulas.',
  'The emptied tank': 'El depósito vaciado está lleno de gas: nadie se asoma.',
  'Frozen culture:': 'Cultivo congelado: guantes aislantes.',
  'Immersion heater': 'Resistencia o placa caliente: con toma de tierra, nunca en seco, lejos de los cables.',
  'Work outdoors': 'Trabajar al aire libre o con ventiladores; un medidor que avise a 2 ppm.',
  'Gas push below': 'Empujar con gas por debajo de 0,3 bar: la barrica no es un recipiente de presión.',
  'Allergens:': 'Alérgenos: lavar, separar, anotar.',
  'Ice on valves': 'Hielo en válvulas y suelo; las manos desnudas se pegan al metal frío.',
  'Nobody enters alone': 'Nadie entra solo con menos de 19 % de oxígeno.',
  'SO2, caustic and acid stores:':
    'Almacenes de SO2, sosa y ácidos: abrir la puerta, dejar cambiar el aire, entrar después.',
}
