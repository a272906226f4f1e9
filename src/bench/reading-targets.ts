import type { Plan } from "../../shared/plan.ts";
import type { Supply } from "../instrument/supply.ts";
import { closelyRead, energisedFeeds, type PlanState, wantedReadings } from "../plan/machine/machine-state.ts";
import type { PollTarget } from "../reading/poll-supply.ts";

/** In each so many rounds: often enough to notice a hand, and seldom enough to leave the plan's own feeds their time. */
const OTHERS_NTH = 8;

/**
 * The readings to take from each supply, and which supplies have something on, by the state of a run. Worked out anew only
 * where another step or other feeds want something else: few of the thousands of readings a second lead to that.
 */
export class ReadingTargets {
  readonly #plan: Plan;
  readonly #sources: ReadonlyMap<string, { supply: Supply; channel: number }>;
  readonly #known = new Map<Supply, readonly PollTarget[]>();
  #state: PlanState;
  #key: string;

  constructor(plan: Plan, sources: ReadonlyMap<string, { supply: Supply; channel: number }>, state: PlanState) {
    this.#plan = plan;
    this.#sources = sources;
    this.#state = state;
    this.#key = keyOf(state);
  }

  /** Takes the run's new state; tells the supplies whether they are energised where that may have changed. */
  follow(state: PlanState): void {
    this.#state = state;
    const key = keyOf(state);
    if (key === this.#key) return;
    this.#key = key;
    this.#known.clear();
    const energised = new Set(energisedFeeds(state));
    const on = new Map<Supply, boolean>();
    for (const [feed, { supply }] of this.#sources) on.set(supply, (on.get(supply) ?? false) || energised.has(feed));
    for (const [supply, isOn] of on) supply.energised = isOn;
  }

  of(supply: Supply): readonly PollTarget[] {
    const known = this.#known.get(supply);
    if (known !== undefined) return known;
    const targets = wantedReadings(this.#plan, this.#state).flatMap(({ feed, everyNth }) => {
      const source = this.#sources.get(feed);
      return source?.supply === supply ? [{ feed, channel: source.channel, everyNth }] : [];
    });
    if (this.#state.kind !== "preparing" && this.#state.kind !== "ended") targets.push(...this.#othersOf(supply));
    this.#known.set(supply, targets);
    return targets;
  }

  /** Connected outputs that the plan does not name: nobody may switch one on while the run lasts. */
  #othersOf(supply: Supply): PollTarget[] {
    const planned = new Set(
      this.#plan.feeds.flatMap((each) => (each.supply === supply.name && each.channel !== null ? [each.channel] : [])),
    );
    const hasPlanned = planned.size > 0;
    return [...this.#sources].flatMap(([feed, source]) => {
      if (source.supply !== supply || planned.has(source.channel)) return [];
      planned.add(source.channel);
      return [{ feed, channel: source.channel, everyNth: hasPlanned ? OTHERS_NTH : 1 }];
    });
  }
}

/** All that `wantedReadings` and `energisedFeeds` look at. */
const keyOf = (state: PlanState): string =>
  state.kind === "energised"
    ? `energised ${state.step.step} ${state.energised.map((each) => each.feed).join(" ")} ${closelyRead(state).join(" ")}`
    : state.kind;
