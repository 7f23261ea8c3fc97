import { lazy, onCleanup, Show, Suspense } from 'solid-js'
import { atRest } from '../parts/at-rest.ts'
import { Announcer } from './announce.tsx'
import { SeasonBar } from './bar.tsx'
import { Chart } from './chart.tsx'
import { createDesk, GUTTER_PX, type SeasonProps, STRIP_PX } from './desk.ts'
import { deskKeys } from './desk-keys.ts'
import { Grid } from './grid.tsx'
import { Legend } from './legend.tsx'
import { MoveBox } from './move-box.tsx'
import { type Stretch, stretchWords } from './stretch.ts'
import { scaleOf, zoomed } from './view.ts'
import './timeline.css'
import './timeline-paper.css'

const boxes = () => import('./season-boxes.tsx')
const Boxes = lazy(async () => ({ default: (await boxes()).Boxes }))
const Trial = lazy(async () => ({ default: (await boxes()).Trial }))

/** The whole desk: controls, chart, grid, move, words. It fetches nothing. */
export function Season(props: SeasonProps) {
  const desk = createDesk(props)
  const isBoxOpen = () => desk.cluster().length > 0 || desk.moveKey() !== undefined || desk.lengthening() !== undefined
  // Nothing of it is seen at first; it is here before a hand can ask for it.
  onCleanup(atRest(() => void boxes().catch(() => {})))
  return (
    <div class="season">
      <SeasonBar
        model={desk.model()}
        words={desk.words()}
        view={desk.view()}
        nowMs={props.nowMs}
        days={desk.days()}
        arrangement={desk.arrangement()}
        allLinks={desk.allLinks()}
        atOnce={desk.atOnce()}
        onAtOnce={() => desk.setAtOnce(!desk.atOnce())}
        kept={desk.kept() !== undefined}
        readings={props.showReadings}
        onReadings={props.onReadings}
        onLengths={() => void desk.lengthen(desk.place())}
        onView={desk.setView}
        onArrange={desk.setArrangement}
        onZoom={(factor) =>
          desk.setView(
            zoomed(
              desk.view(),
              scaleOf(desk.view(), GUTTER_PX, desk.size().widthPx - GUTTER_PX),
              factor,
              GUTTER_PX + (desk.size().widthPx - GUTTER_PX) / 2,
              desk.model(),
            ),
          )
        }
        onNow={desk.goNow}
        onAllLinks={() => desk.setAllLinks(!desk.allLinks())}
        onKeepPlan={desk.keepPlan}
        onPrint={() => props.onPrint(desk.view(), desk.arrangement())}
        canMove={props.mayMove && props.selected !== undefined}
        onMoveTo={() => desk.setMoveKey(props.selected)}
      />
      <Chart
        model={desk.model()}
        rows={desk.rows()}
        days={desk.days()}
        load={desk.load()}
        words={desk.words()}
        rules={desk.rules()}
        palette={props.palette}
        nowMs={props.nowMs}
        view={desk.view()}
        onView={desk.setView}
        rowPx={desk.rowPx()}
        gutterPx={GUTTER_PX}
        stripPx={STRIP_PX}
        textPx={12}
        font="system-ui, sans-serif"
        {...(desk.selectedIx() !== undefined && { selectedIx: desk.selectedIx() as number })}
        {...(desk.moving.move() && { move: desk.moving.move() })}
        {...(desk.moving.foreseen() && { trial: desk.moving.foreseen() })}
        {...(desk.series() && { series: desk.series() })}
        {...(desk.kept() && { kept: desk.kept() })}
        allLinks={desk.allLinks()}
        mayMove={props.mayMove && desk.moving.move() === undefined}
        onSelect={desk.select}
        onRow={(row) => desk.foldRow(row.id)}
        onMove={desk.moving.carry}
        onDrop={desk.moving.drop}
        {...(desk.stretch() && { stretch: desk.stretch() as Stretch })}
        onStretch={desk.draw}
        onStretched={desk.drawn}
        onFrame={desk.setFrame}
        onSize={(widthPx, heightPx) => desk.setSize({ widthPx, heightPx })}
      >
        {(shown) => (
          <>
            <Grid
              frame={shown()}
              model={desk.model()}
              rows={desk.rows()}
              words={desk.words()}
              nowMs={props.nowMs}
              label={`Season, ${desk.rows().length} rows`}
              place={desk.place()}
              onPlace={desk.setPlace}
              onOpen={(ix) => desk.select([ix])}
              onKey={(event, at) => deskKeys(desk, props, event, at)}
              reveal={desk.reveal}
              recall={desk.recall()}
            />
            <Show when={desk.rows().length === 0}>
              <p class="chart-none">
                Nothing fits this choice of rows. Show all kinds and states, or clear the search.
              </p>
            </Show>
            <Show when={desk.stretch()}>
              {(held) => (
                <div class="verdict" classList={{ no: held().verdict.level === 'no' }}>
                  <p>{stretchWords(held(), desk.words())}</p>
                </div>
              )}
            </Show>
            <Show when={desk.moving.move()}>
              {(at) => (
                <MoveBox
                  move={at()}
                  model={desk.model()}
                  words={desk.words()}
                  held={desk.moving.held()}
                  preview={desk.moving.preview()}
                  onFollows={(andFollows) => desk.moving.follow(at(), andFollows)}
                  onNearest={desk.moving.toNearest}
                  onKeep={() => void desk.moving.keep()}
                  onCancel={() => desk.moving.end('The task stays where it was.')}
                />
              )}
            </Show>
          </>
        )}
      </Chart>
      <Show when={props.trial}>
        <Suspense>
          <Trial desk={desk} of={props} />
        </Suspense>
      </Show>
      <Legend palette={props.palette} />
      <Show when={isBoxOpen()}>
        <Suspense>
          <Boxes desk={desk} of={props} />
        </Suspense>
      </Show>
      <Announcer of={desk.announcer} />
    </div>
  )
}
