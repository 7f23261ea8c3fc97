import { defineConfig } from 'vitest/config'

const root = new URL('../..', import.meta.url).pathname

/** Whole working days in the browser: minutes each, so apart from the tests of every change. */
export default defineConfig({
  root,
  test: {
    include: ['tests/long/**/*.test.ts'],
    globalSetup: ['tests/helpers/build.ts'],
    fileParallelism: false,
    testTimeout: 600_000,
    hookTimeout: 180_000,
  },
})
