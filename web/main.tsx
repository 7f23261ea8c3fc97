import 'uplot/dist/uPlot.min.css'
import './styles.css'
import { render } from 'solid-js/web'
import { App } from './app.tsx'

const root = document.getElementById('root')
if (!root) throw new Error('index.html must hold an element with id root')
render(() => <App />, root)
