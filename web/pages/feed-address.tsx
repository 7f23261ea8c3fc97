import { Button } from '../parts/button.tsx'
import { QrCode } from '../parts/qr-code.tsx'
import { toast } from '../parts/toast.tsx'
import type { FeedMade } from './feed-new.tsx'

/** The only time an address is on a screen. */
export function FeedAddress(props: { readonly made: FeedMade }) {
  const copy = () => void navigator.clipboard?.writeText(props.made.url).then(() => toast('Address copied.'))
  return (
    <div class="note caution row top" role="status">
      <QrCode text={props.made.webcal} label={`QR code of the feed ${props.made.feed.name}`} />
      <div class="stack tight grow">
        <h3>{props.made.feed.name}</h3>
        <p>
          Point a phone’s camera at the code, or open this on the phone. The address is shown <b>only now</b>: whoever
          has it can read.
        </p>
        <p class="code" data-feed-url>
          {props.made.url}
        </p>
        <div class="row">
          <a class="button main" href={props.made.webcal}>
            Subscribe on this device
          </a>
          <Button onClick={copy}>Copy the address</Button>
        </div>
      </div>
    </div>
  )
}
