import { BenchError } from "../../shared/bench-error.ts";
import { messageOf } from "../../shared/message-of.ts";
import type { Plan, PlanEffect, PlanEvent } from "../../shared/plan.ts";
import type { Supply } from "../instrument/supply.ts";
import { advance } from "../plan/machine/advance.ts";
import { energisedFeeds, initialState, type PlanState } from "../plan/machine/machine-state.ts";
import { outcomeOf } from "../plan/machine/outcome.ts";
import { type Polling, pollSupply } from "../reading/poll-supply.ts";
import type { Outputs } from "./cut-lane.ts";
import { PanelWatch } from "./panel-watch.ts";
import type { PlanRunnerOptions } from "./plan-runner-options.ts";
import { ReadingTargets } from "./reading-targets.ts";
import { prepareSupplies, releaseSupplies, watchRestarts } from "./supply-layers.ts";

const TICK_MS = 10;
/** A gap in our own time longer than this is a suspended or stopped process: off first, questions later. */
const GAP_MS = 2000;
/** An output-on that could not be sent within this is not sent at all. */
const ON_DEADLINE_MS = 1000;
/** How long an output that went off by itself may be asked why; it has been cut meanwhile. */
const WHY_MS = 500;

/**
 * Runs a plan: feeds events to the pure machine, in one synchronous turn each, and performs its effects. A cut is
 * written in the turn of the event that asked for it. Nothing here decides; everything that does is in `src/plan`.
 */
export class PlanRunner {
  readonly #options: PlanRunnerOptions;
  readonly #zeroMs: number;
  readonly #outputs: Outputs;
  readonly #pollings: Polling[] = [];
  readonly #panel = new PanelWatch();
  readonly #targets: ReadingTargets;
  #state: PlanState;
  #lastTurnMs: number;
  #cutting = false;
  /** Rises with each cut; what was asked before one is not done after it. */
  #epoch = 0;
  #ended = false;
  /** An output went off by itself and is being asked why; what is read meanwhile says nothing new. */
  #asksWhy = false;
  /** Settles when the run is over and its supplies were told so. */
  readonly ended: Promise<void>;
  #settleEnded: () => void = () => {};
  #stopTicks: () => void = () => {};
  /** Ends what it listens to. */
  readonly #stops: (() => void)[] = [];

  constructor(options: PlanRunnerOptions) {
    this.#options = options;
    this.ended = new Promise((resolve) => {
      this.#settleEnded = resolve;
    });
    this.#state = initialState(options.plan);
    this.#targets = new ReadingTargets(options.plan, options.sources, this.#state);
    this.#zeroMs = options.clock.nowMs();
    this.#lastTurnMs = this.#zeroMs;
    const outputs = new Map<Supply, number[]>();
    for (const { supply, channel } of options.sources.values()) {
      const channels = outputs.get(supply) ?? [];
      if (!channels.includes(channel)) channels.push(channel);
      outputs.set(supply, channels);
    }
    this.#outputs = outputs;
  }

  get plan(): Plan {
    return this.#options.plan;
  }

  get state(): PlanState {
    return this.#state;
  }

  get hasEnded(): boolean {
    return this.#ended;
  }

  /** Milliseconds since the run began. */
  get atMs(): number {
    return this.#options.clock.nowMs() - this.#zeroMs;
  }

  /** Makes the supplies' own protections ready; nothing is on. Throws BenchError where one does not take. */
  prepare(): Promise<void> {
    return prepareSupplies(this.#outputs, this.#options.plan);
  }

  start(): void {
    const { guardian, clock } = this.#options;
    for (const [supply, channels] of this.#outputs) {
      for (const channel of channels) this.#panel.output(supply, channel, "off", clock.nowMs());
      this.#stops.push(
        supply.onLost((why) =>
          this.dispatch({ event: "link-lost", atMs: this.atMs, instrument: supply.name, because: why.message }),
        ),
      );
      this.#pollings.push(this.#poll(supply));
    }
    const guardianLost = (because: string): void => this.dispatch({ event: "guardian-lost", atMs: this.atMs, because });
    if (guardian !== null) this.#stops.push(guardian.onLost(guardianLost));
    const tick = (): void => {
      if (this.#ended) return;
      this.#stopTicks = clock.after(TICK_MS, tick);
      this.dispatch({ event: "tick", atMs: this.atMs });
    };
    this.#stopTicks = clock.after(TICK_MS, tick);
    this.#stops.push(
      watchRestarts(this.#outputs, clock, (supply) =>
        this.dispatch({
          event: "front-panel",
          atMs: this.atMs,
          feed: this.#feedOf(supply),
          because: `${supply.name} was switched off and on again; its settings are no longer ours`,
        }),
      ),
    );
    this.dispatch({ event: "begin", atMs: this.atMs });
  }

  /** Off at once, whatever the machine thinks: written in this turn, then told to the machine. */
  cut(by: string): void {
    if (this.#ended) return;
    this.#cutNow();
    this.dispatch({ event: "stop", atMs: this.atMs, by });
  }

  #cutNow(): void {
    this.#epoch += 1;
    this.#options.cutLane.now(this.#outputs);
    this.#expectOutputs(null);
  }

  #expectOutputs(state: "off" | null): void {
    for (const [supply, channels] of this.#outputs) {
      for (const channel of channels) this.#panel.output(supply, channel, state, this.#options.clock.nowMs());
    }
  }

  dispatch(event: PlanEvent): void {
    if (this.#ended) return;
    const gapMs = this.#options.clock.nowMs() - this.#lastTurnMs;
    this.#lastTurnMs = this.#options.clock.nowMs();
    if (gapMs > GAP_MS && energisedFeeds(this.#state).length > 0) {
      this.#turn({ event: "clock-gap", atMs: this.atMs, gapMs });
    }
    this.#turn(event);
  }

  #turn(event: PlanEvent): void {
    const { state, effects } = advance(this.#options.plan, this.#state, event);
    const changed = state !== this.#state || effects.length > 0;
    this.#state = state;
    // The cut goes out before anything is recorded: nothing stands between a bad reading and the wire.
    if (effects.some((each) => each.effect === "cut")) this.#cutNow();
    if (changed || event.event !== "tick") this.#options.onEvent(event, state);
    this.#targets.follow(state);
    for (const effect of effects) this.#perform(effect);
    for (const polling of this.#pollings) polling.wake();
  }

  #perform(effect: PlanEffect): void {
    switch (effect.effect) {
      case "cut":
        void this.#proveCut();
        return;
      case "finish":
        void this.#finish();
        return;
      case "ask-raise":
        this.#options.onQuestion({
          asks: "raise-limit",
          feed: effect.feed,
          fromAmps: effect.fromAmps,
          toAmps: effect.toAmps,
          because: effect.because,
        });
        return;
      case "ask-manual":
        this.#options.onQuestion({
          asks: effect.wanted === "on" ? "manual-on" : "manual-off",
          feed: effect.feed,
          fromAmps: null,
          toAmps: null,
          because: `feed "${effect.feed}" is switched by hand; it cannot be cut from here`,
        });
        return;
      default: {
        const epoch = this.#epoch;
        this.#performOnSupply(effect).catch((cause: unknown) => {
          // Given up for the cut of an output that went off by itself: why it did is still to be told.
          if (this.#asksWhy && this.#epoch !== epoch) return;
          const because = messageOf(cause);
          const refused = cause instanceof BenchError && cause.code === "setting-refused";
          this.dispatch(
            refused
              ? { event: "refused", atMs: this.atMs, feed: effect.feed, because }
              : { event: "failed", atMs: this.atMs, feed: effect.feed, because },
          );
        });
      }
    }
  }

  async #performOnSupply(
    effect: Extract<PlanEffect, { effect: "configure" | "output-on" | "output-off" }>,
  ): Promise<void> {
    const { feed } = effect;
    const source = this.#options.sources.get(feed);
    const planned = this.#options.plan.feeds.find((each) => each.feed === feed);
    if (source === undefined || planned === undefined) {
      throw new BenchError(
        "bad-message",
        `Cannot ${effect.effect} on feed "${feed}": it has no supply on this bench; nothing was sent`,
      );
    }
    const { supply, channel } = source;
    if (effect.effect === "configure") {
      const { volts, limitAmps, overVolts } = effect.setting;
      this.#panel.settings(supply, channel, null, this.#options.clock.nowMs());
      const got = await this.#onPresentLink(supply, () =>
        supply.configure(channel, {
          volts,
          limitAmps,
          ...(planned.hasOverVoltage ? { overVolts } : {}),
          ...(planned.hasOverCurrent ? { overCurrentOn: effect.overCurrentOn } : {}),
        }),
      );
      this.#panel.settings(supply, channel, got, this.#options.clock.nowMs());
      this.dispatch({
        event: "configured",
        atMs: this.atMs,
        feed,
        setVolts: got.setVolts,
        limitAmps: got.limitAmps,
        overVolts: got.overVolts,
      });
    } else if (effect.effect === "output-on") {
      const epoch = this.#epoch;
      await this.arm();
      // A cut may have come while the guardian answered: nothing energising may follow it.
      if (this.#epoch !== epoch || this.#ended) return;
      // Made for the connection as it is now: whatever replaces it in between makes the command void.
      const guard = { connection: supply.connection, deadlineMs: this.#options.clock.nowMs() + ON_DEADLINE_MS };
      this.#panel.output(supply, channel, null, this.#options.clock.nowMs());
      await supply.switchOn(channel, guard);
      if (this.#epoch !== epoch || this.#ended) {
        supply.cut([channel]);
        return;
      }
      const state = await supply.outputState(channel);
      if (this.#epoch === epoch) this.#panel.output(supply, channel, state, this.#options.clock.nowMs());
      this.dispatch({ event: "output", atMs: this.atMs, feed, state });
    } else {
      this.#panel.output(supply, channel, null, this.#options.clock.nowMs());
      await supply.switchOff(channel);
      const proof = await supply.proveOff([channel], { withinMs: Math.max(500, 4 * (supply.roundTrip.p99Ms ?? 0)) });
      if (proof.output === "off") {
        this.#panel.output(supply, channel, "off", this.#options.clock.nowMs());
        this.dispatch({ event: "output", atMs: this.atMs, feed, state: "off" });
      } else this.dispatch({ event: "failed", atMs: this.atMs, feed, because: `off was not proved: ${proof.detail}` });
    }
  }

  /**
   * A setting, made once more where a fence replaced the connection it was made for: the plan still waits for it, and it is
   * read back. A connection that was lost ends the run instead.
   */
  async #onPresentLink<T>(supply: Supply, set: () => Promise<T>): Promise<T> {
    const [epoch, connection] = [this.#epoch, supply.connection];
    try {
      return await set();
    } catch (cause) {
      const replaced = cause instanceof BenchError && cause.code === "link-closed" && supply.connection !== connection;
      if (!replaced || this.#epoch !== epoch || this.#ended) throw cause;
      return set();
    }
  }

  /** Hands the guardian the bytes that switch this run's outputs off; settles when it holds them. */
  async arm(): Promise<void> {
    const { guardian } = this.#options;
    if (guardian === null) return;
    await guardian.arm(
      this.#options.record,
      [...this.#outputs].map(([supply, channels]) => ({
        name: supply.name,
        address: supply.address,
        serial: { ...supply.serial },
        ...supply.offBytes([...channels]),
      })),
    );
  }

  async #proveCut(): Promise<void> {
    if (this.#cutting) return;
    this.#cutting = true;
    const result = await this.#options.cutLane.prove(this.#outputs);
    this.#cutting = false;
    if (result.output === "off") this.#expectOutputs("off");
    this.dispatch({ event: "cut-done", atMs: this.atMs, output: result.output, because: result.because });
  }

  async #finish(): Promise<void> {
    if (this.#ended) return;
    this.#ended = true;
    this.#stopTicks();
    for (const stop of this.#stops) stop();
    for (const polling of this.#pollings) polling.stop();
    for (const [supply] of this.#outputs) supply.energised = false;
    const outcome = outcomeOf(this.#state);
    if (outcome.output === "off") {
      this.#options.guardian?.disarm();
      await releaseSupplies(this.#outputs);
    }
    this.#options.onEnded(outcome);
    this.#settleEnded();
  }

  #feedOf(supply: Supply): string {
    return [...this.#options.sources].find(([, each]) => each.supply === supply)?.[0] ?? supply.name;
  }

  /** An output that should be on reads off: all are cut, then the supply is asked whether it was itself or a hand. */
  async #askWhy(feed: string, supply: Supply, channel: number): Promise<void> {
    this.#asksWhy = true;
    this.#cutNow();
    const why = async (): Promise<PlanEvent> => {
      const tripped = await supply.trippedBy(channel);
      if (tripped !== null) return { event: "protection", atMs: this.atMs, feed, which: tripped };
      const restarted = await supply.hasRestarted();
      return byHand(restarted ? `${supply.name} was switched off and on again` : "its output was switched off");
    };
    const byHand = (because: string): PlanEvent => ({ event: "front-panel", atMs: this.atMs, feed, because });
    const late = new Promise<PlanEvent>((resolve) => {
      this.#options.clock.after(WHY_MS, () => resolve(byHand("its output went off; it did not say why")));
    });
    const event = await Promise.race([why().catch(() => late), late]);
    this.#asksWhy = false;
    this.dispatch(event);
  }

  #poll(supply: Supply): Polling {
    const channelOf = (feed: string): number | undefined => {
      const source = this.#options.sources.get(feed);
      return source?.supply === supply ? source.channel : undefined;
    };
    return pollSupply({
      supply,
      clock: this.#options.clock,
      zeroMs: () => this.#zeroMs,
      targets: () => this.#targets.of(supply),
      onReading: (reading, panel) => {
        const channel = channelOf(reading.feed);
        if (this.#asksWhy || channel === undefined) return;
        const change = this.#panel.changeIn(supply, channel, panel, reading.queriedAtMs + this.#zeroMs);
        if (change?.what === "switched-off") {
          void this.#askWhy(reading.feed, supply, channel);
          return;
        }
        if (change !== null)
          this.dispatch({ event: "front-panel", atMs: this.atMs, feed: reading.feed, because: change.because });
        this.dispatch({ event: "reading", atMs: this.atMs, reading });
      },
      onFailure: (cause, inARow) => {
        // A cut gives up the question under way; what the line is worth then, its proof says.
        if (this.#cutting) return;
        // One lost reply is asked again after a fence; the third in a row is silence.
        if (inARow >= 3 || (cause instanceof BenchError && cause.code === "suspect-link")) {
          const because = messageOf(cause);
          this.dispatch({ event: "silent", atMs: this.atMs, instrument: supply.name, because });
        }
      },
    });
  }
}
