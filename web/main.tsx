import 'uplot/dist/uPlot.min.css'
import './styles/ground.css'
import './styles/frame.css'
import './styles/page.css'
import './styles/buttons.css'
import './styles/fields.css'
import './styles/ledger.css'
import './styles/marks.css'
import './styles/overlays.css'
import './styles/today.css'
import './styles/cellar.css'
import './styles/lab.css'
import './styles/ask.css'
import './styles/book.css'
import './styles/floor.css'
import './styles/media.css'
import { render } from 'solid-js/web'
import { App } from './app.tsx'
import { installWorker } from './offline/install.ts'

// A page whose files went away with an update of the server: load the new one, but not in a circle, and not while the
// server cannot be reached: then the page that is here is all there is.
window.addEventListener('vite:preloadError', async () => {
  const last = Number(sessionStorage.getItem('leesway-reloaded') ?? 0)
  if (performance.timeOrigin - last < 10_000) return
  const isThere = await fetch('/', { cache: 'no-store' }).then(
    (answer) => answer.ok,
    () => false,
  )
  if (!isThere) return
  sessionStorage.setItem('leesway-reloaded', String(performance.timeOrigin))
  location.reload()
})

const root = document.getElementById('root')
if (!root) throw new Error('index.html must hold an element with id root')
render(() => <App />, root)
void installWorker()
