import { A } from '@solidjs/router'
import { Composition } from '../ledger/contents.tsx'
import { useLotLedger } from '../ledger/queries.ts'
import { QuarantineNote, So2Line } from '../ledger/told.tsx'
import { Where } from '../ledger/where.tsx'
import { sayLitres } from '../ledger/words.ts'
import { Folio } from '../parts/page-head.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { Ask } from '../parts/states.tsx'
import { useSession } from '../session.tsx'

/** Where the lot is and what is in it, in short; the ledger tells the rest. */
export function LotWhere(props: { readonly lot: string }) {
  const session = useSession()
  const ledger = useLotLedger(() => props.lot)
  const path = () => encodeURIComponent(props.lot)
  return (
    <Folio
      title="Where it is and what is in it"
      note={
        <>
          <A class="link tall" href={`/ledger/lots/${path()}`}>
            Shares, additions, history
          </A>
          <br />
          <A class="link tall" href={`/ledger/trace?lot=${path()}`}>
            Trace
          </A>
        </>
      }
    >
      <Ask query={ledger} what="the ledger">
        {(answer) => (
          <>
            <QuarantineNote quarantine={answer().quarantine} />
            <p>
              <b>{sayLitres(session.format(), answer().volumeL)}</b> in all.
            </p>
            <Where where={answer().where} />
            {answer().volumeL > 0 && (
              <>
                <ScrollX label="Made of">
                  <Composition composition={answer().composition} />
                </ScrollX>
                <p>
                  SO2: <So2Line so2={answer().so2} />
                </p>
              </>
            )}
          </>
        )}
      </Ask>
    </Folio>
  )
}
