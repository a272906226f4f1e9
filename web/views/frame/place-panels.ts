import { html, nothing } from "lit";
import type { WireAnswer } from "../../../shared/wire.ts";
import type { SweepHow } from "../../../shared/wire-request.ts";
import type { Wish } from "../../page/bench-connection.ts";
import { daemonNow } from "../../page/daemon-clock.ts";
import { goesOn, type PageState } from "../../page/page-state.ts";
import type { TraceStore } from "../../page/trace-store.ts";
import type { OpenJob } from "../../record/open-job.ts";
import { isOn, isSweeping, type Place } from "../../record/places.ts";
import type { ColdParse } from "../power/cold-text.ts";
import type { AskBench } from "../power/start-form.ts";
import type { SweepSaid } from "../probe/probe-view.ts";

/** The callbacks of the places to the page. */
export interface PlaceWishes {
  openJob: (job: string) => void;
  pickPlace: (place: Place) => void;
  takeControl: () => void;
  coldSweep: (how?: SweepHow) => void;
  nullLeads: () => Promise<string>;
  coldChanged: (cold: ColdParse) => void;
  preview: AskBench;
  ask: (wish: Wish) => Promise<WireAnswer>;
  start: (wish: Wish) => void;
  preparing: (is: boolean) => void;
  nothingFelt: () => void;
  saySweep: (said: SweepSaid) => void;
  /** This bench belongs to a shop. */
  shopKnown: () => void;
}

/** The data that the places are handed. */
export interface PlaceInput {
  state: PageState;
  place: Place;
  job: OpenJob;
  store: TraceStore;
  cold: ColdParse;
  isPreparing: boolean;
  sweepProblem: string;
}

/** The six places of a job. Every place's form stays, hidden: who comes back finds what was written. */
export function placePanels(
  { state, place, job, store, cold, isPreparing, sweepProblem }: PlaceInput,
  wish: PlaceWishes,
) {
  const { sheet, round, rounds } = job;
  const mayWrite = state.phase === "live" && state.mayOperate;
  const steers = state.phase === "live";
  const running = isOn(state);
  const inControl = state.lease === "you";
  const isLast = round === null || round.isLast;
  // Typed values and statements are for one job, one round, and the time between two runs.
  const scope = `${job.id} ${rounds.length} ${state.board?.name ?? ""}`;
  const sweep = state.sweep !== null && (state.sweep.job === job.id || job.id === null) ? state.sweep : null;
  const swept = sweep?.done ?? null;
  const onOpenJob = (event: CustomEvent<string>): void => wish.openJob(event.detail);
  const onPickPlace = (event: CustomEvent<Place>): void => wish.pickPlace(event.detail);
  // There is something to set up where there is no feed, and something to rehearse where the bench is simulated.
  const isNew = state.bench !== null && (state.bench.feeds.length === 0 || state.bench.simulated);
  const benchNow = `${state.bench?.simulated} ${state.bench?.feeds.map((each) => each.feed).join(" ")}`;
  return html`
    <page-tour .jobs=${state.jobs} .job=${job.id} @pick-place=${onPickPlace} @open-job=${onOpenJob}></page-tour>
    ${isNew && steers ? html`<first-setup .place=${place} .bench=${benchNow} .rail=${sweep?.place?.rail ?? ""} .mayWrite=${mayWrite}></first-setup>` : nothing}
    <div class="board" ?hidden=${place !== "board"}>
      <intake-view .sheet=${sheet} .jobs=${state.jobs} .mayWrite=${mayWrite} .heard=${steers} @open-job=${onOpenJob}></intake-view>
      ${state.setOnce === null ? nothing : html`<set-once .set=${state.setOnce} .job=${job.id} .jobName=${job.name} .mayWrite=${mayWrite} @open-job=${onOpenJob}></set-once>`}
      <record-view .sheet=${sheet} .mayWrite=${mayWrite}></record-view>
    </div>
    <cold-view
      ?hidden=${place !== "cold"}
      .board=${state.board}
      .sheet=${sheet}
      .mayWrite=${mayWrite}
      .mayMeasure=${steers && inControl && !running && !goesOn(state)}
      .clockMs=${daemonNow().getTime()}
      .scope=${scope}
      @open-job=${onOpenJob}
      @pick-place=${onPickPlace}
      .nullLeads=${wish.nullLeads}
      @ask-cold-sweep=${(event: CustomEvent<SweepHow>) => wish.coldSweep(event.detail)}
      @cold-changed=${(event: CustomEvent<ColdParse>) => wish.coldChanged(event.detail)}
    ></cold-view>
    <power-view ?hidden=${place !== "power"} .state=${state} .job=${job.id} .sheet=${sheet} .round=${round} .store=${store} .isPreparing=${isPreparing} @open-job=${onOpenJob}>
      <start-form
        ?hidden=${!steers || running || !isLast || goesOn(state)}
        .bench=${state.bench}
        .board=${state.board}
        .cold=${cold}
        .job=${job.id}
        .jobName=${job.titleOf(job.id, state.jobs)}
        .inControl=${inControl}
        .ask=${wish.preview}
        .usual=${state.setOnce}
        .scope=${`${scope} ${state.run?.run ?? ""} ${running}`}
        @take-control=${wish.takeControl}
        @ask-start=${(event: CustomEvent<Wish>) => wish.start(event.detail)}
        @preparing=${(event: CustomEvent<boolean>) => wish.preparing(event.detail)}
      ></start-form>
    </power-view>
    <probe-view
      ?hidden=${place !== "probe"}
      .sweep=${sweep}
      .board=${place === "probe" ? state.board : null}
      .mayMark=${mayWrite && !running}
      .inControl=${inControl}
      .mayStart=${steers && !running && !goesOn(state)}
      .live=${steers}
      .problem=${sweepProblem}
      @take-control=${wish.takeControl}
      @ask-cold-sweep=${(event: CustomEvent<SweepHow | null>) => wish.coldSweep(event.detail ?? undefined)}
      @nothing-felt=${wish.nothingFelt}
      @say-sweep=${(event: CustomEvent<SweepSaid>) => wish.saySweep(event.detail)}
      @pick-place=${onPickPlace}
    >${job.id === null ? nothing : html`<next-question slot="next" .diagnosis=${swept?.diagnosis ?? null} .readings=${swept?.readings ?? null} .job=${job.id} .events=${job.sheet?.events.length ?? 0} .shown=${place === "probe" && !isSweeping(state)} .mayWrite=${mayWrite}></next-question>`}<host-view slot="host" .sheet=${sheet} .mayWrite=${mayWrite} @file-dropped=${() => (running ? undefined : wish.pickPlace("probe"))}></host-view></probe-view>
    <work-view ?hidden=${place !== "work"} .sheet=${sheet} .mayWrite=${mayWrite}></work-view>
    <shop-view ?hidden=${place !== "shop"} .shown=${place === "shop"} .live=${steers} @open-job=${onOpenJob} @pick-place=${onPickPlace} @shop-known=${wish.shopKnown}></shop-view>
    <compare-view ?hidden=${place !== "compare"} .sheet=${sheet}></compare-view>
  `;
}
