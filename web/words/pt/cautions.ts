import type { Catalogue } from '../types.ts'

/** Portuguese. From memory: not read by a native speaker of the trade. */
export const CAUTIONS: Catalogue['cautions'] = {
  'Carbon dioxide:':
    'Dióxido de carbono: ventiladores e medidor ligados, arejar primeiro; acima de 5 000 ppm ficar pouco e arejar, acima de 30 000 ppm sair já.',
  'Confined space:':
    'Espaço confinado: nem cabeça nem corpo dentro de depósito, tambor ou fosso sem licença, teste do ar, vigia fora e forma de o tirar. Um ventilador não chega.',
  'Sulphur dioxide:':
    'Dióxido de enxofre: máscara com filtro de gases ácidos, óculos e luvas; nunca abrir o saco sobre mosto húmido; ninguém com asma; limite no ar 2 a 5 ppm, sair se picar.',
  'Caustic, acid and peracetic acid burn:':
    'Soda, ácidos e peracético queimam: luvas, óculos, avental; deitar na água, nunca misturar, enxaguar muito.',
  'Hot water and steam scald:': 'Água quente e vapor queimam: luvas, mangueiras fechadas, abrir as válvulas devagar.',
  'Heavy or awkward load:':
    'Carga pesada ou difícil: duas pessoas ou um elevador; um barril cheio ou uma barrica vazia pesa 45 a 60 kg.',
  'Forklift:': 'Empilhador: só condutor habilitado, peões fora do caminho, buzina nas portas.',
  'Under pressure:':
    'Sob pressão: válvula de alívio livre, mangueiras presas, tirar a pressão antes de abrir seja o que for.',
  'Lock out and tag': 'Cortar e bloquear a corrente antes de desencravar ou meter a mão.',
  'Dust of powders': 'Pó de produtos e filtrantes: máscara, sem ventilador sobre o saco.',
  'Nitrogen, argon and carbon dioxide take':
    'Azoto, árgon e dióxido de carbono tomam o lugar do ar sem cheiro: arejar, medidor ligado.',
  'Degassing can throw': 'Ao desgaseificar a espuma pode saltar: pouco de cada vez, ao lado da tampa, não por cima.',
  'Height:': 'Altura: escada segura, guardas e tampas fechadas, só pelas passadeiras.',
  'Reagents:': 'Reagentes: óculos e luvas, pipeta com pera, saber onde está o lava-olhos.',
  'Local safety rules': 'As regras de segurança locais e as da casa vêm primeiro.',
  'Tractors and sprayers':
    'Tratores e pulverizadores usam as mesmas filas: seja visto e não entre antes do prazo após o tratamento.',
  'Stand clear of the tipping': 'Fique fora da zona de basculamento. As vespas vêm com a uva: saiba quem é alérgico.',
  'Cold room:': 'Câmara fria: alguém sabe que está lá dentro e a porta abre por dentro.',
  'Moving belt:': 'Tapete em marcha: mangas e cabelo presos, cordão de paragem ao alcance.',
  'Guards on before': 'Proteções postas antes da corrente. O gelo seco queima a pele.',
  'Glycol: look': 'Glicol: ver fugas no permutador antes de passar vinho.',
  'No head in the tank': 'Não meter a cabeça no depósito: está sob gás.',
  'Door interlock': 'Bloqueio da porta a funcionar; nenhum braço num tambor que pode rodar.',
  'The pit and the pan': 'O fosso e a bandeja guardam gás.',
  'Enzyme powder': 'O pó de enzima causa alergia: sem pó, luvas.',
  'The floor is slippery': 'O chão escorrega por causa do bagaço.',
  'Check the glycol lines': 'Ver fugas nas linhas de glicol; gelo e chão molhado sob as válvulas.',
  'Check every valve twice': 'Verificar cada válvula duas vezes antes de ligar a bomba.',
  'Racks strapped': 'Suportes presos e nivelados antes de entrar vinho.',
  'Nobody alone in a fermenting': 'Ninguém sozinho à noite numa sala a fermentar.',
  'Oxygen bottle:': 'Garrafa de oxigénio: presa, sem gordura, sem chama.',
  'Copper sulphate is': 'O sulfato de cobre é venenoso: luvas, óculos, pesar só no laboratório.',
  'Two people: one works': 'Duas pessoas: uma trabalha, outra vigia.',
  'Night reading:': 'Leitura de noite: duas pessoas, ou alguém fora que espera o regresso.',
  'Ice and wet floors under': 'Gelo e chão molhado sob as válvulas.',
  'The emptied tank': 'O depósito vazio está cheio de gás: ninguém se debruça.',
  'Frozen culture:': 'Cultura congelada: luvas isolantes.',
  'Immersion heater': 'Resistência ou placa: com terra, nunca a seco, longe dos cabos.',
  'Work outdoors': 'Trabalhar ao ar livre ou com ventiladores; um medidor que avisa a 2 ppm.',
  'Gas push below': 'Empurrar com gás abaixo de 0,3 bar: uma barrica não é um recipiente de pressão.',
  'Allergens:': 'Alergénios: lavar, separar, anotar.',
  'Ice on valves': 'Gelo em válvulas e chão; as mãos nuas colam ao metal frio.',
  'Nobody enters alone': 'Ninguém entra sozinho abaixo de 19 % de oxigénio.',
  'SO2, caustic and acid stores:': 'Armazéns de SO2, soda e ácidos: abrir a porta, deixar mudar o ar, depois entrar.',
}
