import { defineConfig } from 'vite'
import solid from 'vite-plugin-solid'
import { worker } from './offline/worker-build.ts'

const root = new URL('.', import.meta.url).pathname

export default defineConfig({
  root,
  plugins: [solid(), worker()],
  build: { outDir: '../dist/web', emptyOutDir: true, target: 'es2023', sourcemap: false },
  server: { proxy: { '/api/': 'http://127.0.0.1:8040', '/feed/': 'http://127.0.0.1:8040' } },
})
