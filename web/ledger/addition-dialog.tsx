import { createSignal, Show } from 'solid-js'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { NumberField, Options, TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import type { AdditionTold } from './told.tsx'

/** A wrong addition is taken back by a second entry; what truly went in is written with it. */
export function AdditionDialog(props: { readonly addition: AdditionTold; readonly close: () => void }) {
  const session = useSession()
  const format = session.format
  const scale = () => format().doseScale(props.addition.amount, props.addition.unit)
  const [reason, setReason] = createSignal('')
  const [how, setHow] = createSignal<'otherwise' | 'never'>('otherwise')
  const [product, setProduct] = createSignal(props.addition.product)
  const [batchNo, setBatchNo] = createSignal(props.addition.batchNo ?? '')
  const [amount, setAmount] = createSignal<number | undefined>(props.addition.amount)
  const [treatedL, setTreatedL] = createSignal<number | undefined>(props.addition.treatedL)
  const save = useWrite(() =>
    post(`/api/ledger/additions/${encodeURIComponent(props.addition.id)}/correct`, {
      reason: reason().trim(),
      ...(how() === 'never'
        ? {}
        : {
            instead: {
              product: product().trim(),
              amount: amount(),
              unit: props.addition.unit,
              treatedL: treatedL(),
              ...(batchNo().trim() ? { batchNo: batchNo().trim() } : {}),
              ...(props.addition.vesselCode ? { vessel: props.addition.vesselCode } : {}),
            },
          }),
    }),
  )
  const isReady = () =>
    reason().trim() !== '' &&
    (how() === 'never' || (product().trim() !== '' && amount() !== undefined && treatedL() !== undefined))
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      toast('Corrected. The wrong entry stays in the book, struck through.')
      props.close()
    } catch {
      // shown below
    }
  }
  return (
    <Dialog
      open
      onClose={props.close}
      title="Correct an addition"
      description={`${format().moment(props.addition.addedAt)}: ${format().dose(props.addition.amount, props.addition.unit)} ${props.addition.product} into ${props.addition.lot.code}`}
    >
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send()
        }}
      >
        <TextField
          label="Why it was wrong"
          value={reason()}
          onInput={setReason}
          required
          maxLength={500}
          wrong={wrongAt(save.error, '#/reason')}
        />
        <Options
          label="What is true"
          value={how()}
          options={[
            { value: 'otherwise', label: 'Something else went in' },
            { value: 'never', label: 'Nothing went in' },
          ]}
          onInput={setHow}
        />
        <Show when={how() === 'otherwise'}>
          <TextField label="Product" value={product()} onInput={setProduct} maxLength={80} />
          <TextField label="Batch number" value={batchNo()} onInput={setBatchNo} maxLength={60} />
          <NumberField
            label="Amount"
            unit={scale().unit}
            min={0}
            value={shownAs(amount(), scale().per)}
            onInput={(shown) => setAmount(shown === undefined ? undefined : shown * scale().per)}
            wrong={wrongAt(save.error, '#/instead/amount')}
          />
          <NumberField
            label="Into"
            unit={format().volumeUnit}
            min={0}
            value={
              treatedL() === undefined ? undefined : Math.round(format().volumeShown(treatedL() ?? 0) * 1000) / 1000
            }
            onInput={(shown) => setTreatedL(shown === undefined ? undefined : format().volumeL(shown))}
            wrong={wrongAt(save.error, '#/instead/treatedL')}
          />
        </Show>
        <Show when={save.error}>{(error) => <Failed error={error()} />}</Show>
        <div class="row end">
          <Button onClick={props.close}>Back</Button>
          <Button kind="main" type="submit" pending={save.isPending} disabled={!isReady()}>
            Write the correction
          </Button>
        </div>
      </form>
    </Dialog>
  )
}

const shownAs = (amount: number | undefined, per: number) =>
  amount === undefined ? undefined : Math.round((amount / per) * 1000) / 1000
