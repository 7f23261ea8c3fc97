import solid from 'vite-plugin-solid'
import { defineConfig, type TestProjectConfiguration } from 'vitest/config'

const root = new URL('..', import.meta.url).pathname

/** Long stories of plans and phones: what they ask of a database is asked by shorter tests on both. */
const STORIES = ['tests/api/changes/**/*.test.ts', 'tests/api/{answers,outbox,trials}.test.ts']

/** Pure code runs in many workers; each database has one, shared by its files; the browser tests start the real server. The longest first. */
const projects = [
  {
    root,
    test: {
      name: 'browser',
      include: ['tests/browser/**/*.test.ts'],
      globalSetup: ['tests/helpers/build.ts'],
      setupFiles: ['tests/helpers/failed-pages.ts'],
      fileParallelism: false,
      testTimeout: 900_000,
      hookTimeout: 300_000,
      expect: { poll: { timeout: 180_000 } },
    },
  },
  {
    root,
    test: {
      name: 'pglite',
      include: ['tests/{db,api}/**/*.test.ts'],
      exclude: ['tests/**/*.postgres.test.ts', ...STORIES],
      fileParallelism: false,
      isolate: false,
      testTimeout: 240_000,
      hookTimeout: 120_000,
      env: { TEST_DATABASE: 'pglite' },
    },
  },
  {
    root,
    test: {
      name: 'postgres',
      include: ['tests/{db,api}/**/*.test.ts'],
      exclude: ['tests/db/**/*.pglite.test.ts', ...STORIES],
      globalSetup: ['tests/helpers/postgres.ts'],
      fileParallelism: false,
      isolate: false,
      testTimeout: 240_000,
      hookTimeout: 120_000,
      env: { TEST_DATABASE: 'postgres' },
    },
  },
  {
    root,
    test: {
      name: 'stories',
      include: STORIES,
      testTimeout: 240_000,
      hookTimeout: 240_000,
      env: { TEST_DATABASE: 'pglite' },
    },
  },
  {
    root,
    test: {
      name: 'pure',
      include: [
        'tests/*.test.ts',
        'tests/{cellar,protocol,schedule,feed,ops}/**/*.test.ts',
        'tests/web/**/*.pure.test.ts',
      ],
      testTimeout: 240_000,
    },
  },
  {
    root,
    test: {
      name: 'clients',
      include: ['tests/clients/**/*.test.ts'],
      fileParallelism: false,
      testTimeout: 120_000,
      hookTimeout: 120_000,
    },
  },
  {
    root,
    plugins: [solid()],
    test: {
      name: 'web',
      include: ['tests/web/**/*.test.tsx'],
      environment: 'jsdom',
      testTimeout: 30_000,
    },
  },
] satisfies TestProjectConfiguration[]

/** Names of the projects, in the order in which to begin them. */
export const PROJECTS = projects.map((project) => project.test.name)

export default defineConfig({
  root,
  test: {
    reporters: ['default', ['json', { outputFile: `tests/.results/${process.env.TEST_RESULTS ?? 'some'}.json` }]],
    projects: projects.map((project) => ({
      ...project,
      test: {
        ...project.test,
        setupFiles: ['tests/helpers/cases.ts', ...(('setupFiles' in project.test && project.test.setupFiles) || [])],
      },
    })),
  },
})
