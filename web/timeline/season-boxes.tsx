import { Show } from 'solid-js'
import { ClusterList } from './cluster-list.tsx'
import type { Desk, SeasonProps } from './desk.ts'
import { Differences } from './differences.tsx'
import { LengthBox } from './length-box.tsx'
import { lengthsOf } from './lengths.ts'
import { MoveTo } from './move-to.tsx'
import { revealed } from './view.ts'

interface Of {
  readonly desk: Desk
  readonly of: SeasonProps
}

/** What a trial would change, in words. */
export function Trial(props: Of) {
  return (
    <Show when={props.of.trial}>
      {(trial) => (
        <Differences
          name={trial().name}
          words={trial().words}
          changed={trial().changed}
          form={props.desk.words()}
          trialHref={`/what-if/${trial().id}`}
          onPick={(key) => {
            const ix = props.desk.model().ixOf.get(key)
            if (ix === undefined) return
            props.desk.setView(revealed(props.desk.view(), props.desk.model().startMs[ix] as number))
            props.of.onSelect(key)
          }}
        />
      )}
    </Show>
  )
}

/** What opens over the chart: the tasks of a count, moving without dragging, how long a lot stays. */
export function Boxes(props: Of) {
  return (
    <>
      <Show when={props.desk.cluster().length > 0}>
        <ClusterList
          model={props.desk.model()}
          members={props.desk.cluster()}
          words={props.desk.words()}
          onPick={(ix) => props.desk.select([ix])}
          onClose={() => props.desk.setCluster([])}
        />
      </Show>
      <Show when={props.desk.moveKey()}>
        {(key) => (
          <MoveTo
            rules={props.desk.rules()}
            ix={props.desk.model().ixOf.get(key()) ?? 0}
            acts={props.of.acts}
            announce={props.desk.announcer}
            onLengths={() => {
              const ix = props.desk.model().ixOf.get(key())
              props.desk.setMoveKey(undefined)
              if (ix !== undefined) props.desk.lengthen({ rowId: '', ix })
            }}
            onClose={() => props.desk.setMoveKey(undefined)}
          />
        )}
      </Show>
      <Show when={props.desk.lengthening()}>
        {(lot) => (
          <LengthBox
            lotId={lot().lotId}
            lotCode={lot().lotCode}
            lengths={lengthsOf(props.desk.model(), lot().lotCode, props.of.nowMs)}
            {...(lot().wanted && { wanted: lot().wanted })}
            words={props.desk.words()}
            acts={props.of.acts}
            say={props.desk.announcer.say}
            onClose={() => props.desk.setLengthening(undefined)}
          />
        )}
      </Show>
    </>
  )
}
