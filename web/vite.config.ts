import { defineConfig } from 'vite'
import solid from 'vite-plugin-solid'

const root = new URL('.', import.meta.url).pathname

export default defineConfig({
  root,
  plugins: [solid()],
  build: { outDir: '../dist/web', emptyOutDir: true, target: 'es2023', sourcemap: false },
  server: { proxy: { '/api/': 'http://127.0.0.1:8040', '/feed/': 'http://127.0.0.1:8040' } },
})
