import { BenchError } from "../../shared/bench-error.ts";
import type { PlanEffect, PlanEvent } from "../../shared/plan.ts";
import type { ChannelSettings, Supply } from "../instrument/supply.ts";
import { proofMs } from "./cut-lane.ts";
import type { PanelWatch } from "./panel-watch.ts";
import type { PlanRunnerOptions } from "./plan-runner-options.ts";

/** The effects that a plan asks of one supply; each is answered by an event. */
type SupplyEffect = Extract<PlanEffect, { effect: "configure" | "arm-over-current" | "output-on" | "output-off" }>;

export interface SupplyEffectsOptions extends Pick<PlanRunnerOptions, "plan" | "sources" | "epoch" | "clock"> {
  panel: PanelWatch;
  /** Arms the guardian; settles when it holds the bytes. */
  arm: () => Promise<void>;
  atMs: () => number;
  dispatch: (event: PlanEvent) => void;
  hasEnded: () => boolean;
}

/** An output-on that could not be sent within this is not sent at all. */
const ON_DEADLINE_MS = 1000;

/** Performs what a plan asks of its supplies, and tells the plan what came of it. */
export class SupplyEffects {
  readonly #options: SupplyEffectsOptions;

  constructor(options: SupplyEffectsOptions) {
    this.#options = options;
  }

  /** Throws BenchError where the supply refused or did not answer; the plan is told of nothing then. */
  async perform(effect: SupplyEffect): Promise<void> {
    const { feed } = effect;
    const { plan, sources } = this.#options;
    const source = sources.get(feed);
    const planned = plan.feeds.find((each) => each.feed === feed);
    if (source === undefined || planned === undefined) {
      throw new BenchError(
        "bad-message",
        `Cannot ${effect.effect} on feed "${feed}": this bench has no supply for it; nothing was sent`,
      );
    }
    const { supply, channel } = source;
    const { epoch, panel, clock, dispatch, atMs, hasEnded } = this.#options;
    if (effect.effect === "configure") {
      const { volts, limitAmps, overVolts } = effect.setting;
      panel.settings(supply, channel, null, clock.nowMs());
      const got = await this.#onPresentLink(supply, () =>
        supply.configure(channel, {
          volts,
          limitAmps,
          ...(planned.hasOverVoltage ? { overVolts } : {}),
          ...(planned.hasOverCurrent ? { overCurrentOn: effect.overCurrentOn } : {}),
          // An injection stays in its limit, so that its protection is never armed.
          ...(planned.hasOverCurrent && plan.inject === undefined
            ? { overCurrentDelayMs: planned.allowedLimitingMs }
            : {}),
        }),
      );
      panel.settings(supply, channel, got, clock.nowMs());
      this.#configured(feed, got);
    } else if (effect.effect === "arm-over-current") {
      const wanted = { on: true, levelAmps: effect.limitAmps };
      this.#configured(feed, await this.#onPresentLink(supply, () => supply.setOverCurrent(channel, wanted)));
    } else if (effect.effect === "output-on") {
      const asked = epoch.token;
      await this.#options.arm();
      // A cut may have come while the guardian answered: nothing energising may follow it.
      if (epoch.hasRisenSince(asked) || hasEnded()) return;
      // Made for the connection as it is now: whatever replaces it in between makes the command void.
      const guard = { connection: supply.connection, deadlineMs: clock.nowMs() + ON_DEADLINE_MS };
      panel.output(supply, channel, null, clock.nowMs());
      await supply.switchOn(channel, guard);
      if (epoch.hasRisenSince(asked) || hasEnded()) {
        // The off of the cut that came meanwhile was written after it; said once more, since an on is the worst to miss.
        supply.cut([channel]);
        return;
      }
      const state = await supply.outputState(channel);
      if (!epoch.hasRisenSince(asked)) panel.output(supply, channel, state, clock.nowMs());
      dispatch({ event: "output", atMs: atMs(), feed, state });
    } else {
      panel.output(supply, channel, null, clock.nowMs());
      // A supply that ignores off is set to 0 V by the proof: that is no hand at its panel.
      panel.settings(supply, channel, null, clock.nowMs());
      await supply.switchOff(channel);
      const proof = await supply.proveOff([channel], { withinMs: proofMs(supply) });
      if (proof.output === "off") {
        panel.output(supply, channel, "off", clock.nowMs());
        dispatch({ event: "output", atMs: atMs(), feed, state: "off" });
      } else
        dispatch({ event: "failed", atMs: atMs(), feed, because: `the output was not proved off: ${proof.detail}` });
    }
  }

  #configured(feed: string, got: ChannelSettings): void {
    const { setVolts, limitAmps, overVolts } = got;
    this.#options.dispatch({ event: "configured", atMs: this.#options.atMs(), feed, setVolts, limitAmps, overVolts });
  }

  /**
   * A setting, made once more where a fence replaced the connection it was made for: the plan still waits for it, and it is
   * read back. A connection that was lost ends the run instead.
   */
  async #onPresentLink<T>(supply: Supply, set: () => Promise<T>): Promise<T> {
    const { epoch } = this.#options;
    const [asked, connection] = [epoch.token, supply.connection];
    try {
      return await set();
    } catch (cause) {
      const replaced = cause instanceof BenchError && cause.code === "link-closed" && supply.connection !== connection;
      if (!replaced || epoch.hasRisenSince(asked) || this.#options.hasEnded()) throw cause;
      return set();
    }
  }
}
