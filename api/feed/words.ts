import type { FeedLanguage } from './types.ts'

interface FeedWords {
  readonly done: string
  readonly skipped: string
  readonly cancelled: string
  readonly forecast: string
  readonly wholeDays: string
  readonly lot: string
  readonly where: string
  readonly people: string
  readonly dose: string
  readonly caution: string
  readonly reason: string
  readonly open: string
}

/** English is ours; the others are from memory and still want a native reader. */
export const FEED_WORDS: Readonly<Record<FeedLanguage, FeedWords>> = {
  en: {
    done: 'Done',
    skipped: 'Skipped',
    cancelled: 'Cancelled',
    forecast: 'Forecast: this date moves with the next readings.',
    wholeDays: 'Planned for the day: its hour and its crew are named nearer to it.',
    lot: 'Lot',
    where: 'Vessel',
    people: 'Crew',
    dose: 'Dose',
    caution: 'Caution',
    reason: 'Reason',
    open: 'Open',
  },
  es: {
    done: 'Hecho',
    skipped: 'Omitido',
    cancelled: 'Anulado',
    forecast: 'Previsión: esta fecha cambia con las próximas lecturas.',
    wholeDays: 'Previsto para el día: la hora y el equipo se indican cuando se acerque.',
    lot: 'Lote',
    where: 'Depósito',
    people: 'Equipo',
    dose: 'Dosis',
    caution: 'Precaución',
    reason: 'Motivo',
    open: 'Abrir',
  },
  fr: {
    done: 'Fait',
    skipped: 'Sauté',
    cancelled: 'Annulé',
    forecast: 'Prévision : cette date bouge avec les prochaines mesures.',
    wholeDays: 'Prévu pour la journée : l’heure et l’équipe sont nommées à l’approche.',
    lot: 'Lot',
    where: 'Cuve',
    people: 'Équipe',
    dose: 'Dose',
    caution: 'Attention',
    reason: 'Raison',
    open: 'Ouvrir',
  },
  pt: {
    done: 'Feito',
    skipped: 'Saltado',
    cancelled: 'Anulado',
    forecast: 'Previsão: esta data muda com as próximas leituras.',
    wholeDays: 'Previsto para o dia: a hora e a equipa são indicadas mais perto da data.',
    lot: 'Lote',
    where: 'Cuba',
    people: 'Equipa',
    dose: 'Dose',
    caution: 'Cuidado',
    reason: 'Motivo',
    open: 'Abrir',
  },
  it: {
    done: 'Fatto',
    skipped: 'Saltato',
    cancelled: 'Annullato',
    forecast: 'Previsione: questa data cambia con le prossime letture.',
    wholeDays: 'Previsto per la giornata: ora e squadra si indicano più vicino alla data.',
    lot: 'Lotto',
    where: 'Vasca',
    people: 'Squadra',
    dose: 'Dose',
    caution: 'Attenzione',
    reason: 'Motivo',
    open: 'Apri',
  },
  de: {
    done: 'Erledigt',
    skipped: 'Ausgelassen',
    cancelled: 'Abgesagt',
    forecast: 'Vorhersage: dieser Termin ändert sich mit den nächsten Messungen.',
    wholeDays: 'Für den Tag geplant: Uhrzeit und Leute werden genannt, wenn er näher rückt.',
    lot: 'Partie',
    where: 'Gefäß',
    people: 'Mannschaft',
    dose: 'Dosis',
    caution: 'Vorsicht',
    reason: 'Grund',
    open: 'Öffnen',
  },
}
