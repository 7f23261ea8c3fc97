import { useQuery } from '@tanstack/solid-query'
import type { HandoverWire, PhotoWire, TroubleWire } from '../../api/wire.ts'
import { get, query } from '../api.ts'

export const useTroubles = () =>
  useQuery(() => ({ queryKey: ['troubles'], queryFn: () => get<{ troubles: TroubleWire[] }>('/api/troubles') }))

export const useHandovers = () =>
  useQuery(() => ({ queryKey: ['handovers'], queryFn: () => get<{ handovers: HandoverWire[] }>('/api/handovers') }))

export const usePhotos = (of: () => { readonly task?: string; readonly lot?: string; readonly vessel?: string }) =>
  useQuery(() => ({
    queryKey: ['photos', of()],
    queryFn: () => get<{ photos: PhotoWire[] }>(`/api/photos${query(of())}`),
  }))
