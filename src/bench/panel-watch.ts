import type { ChannelSettings, PanelState, Supply } from "../instrument/supply.ts";

/** A difference from what this program set, with its words. */
export interface PanelChange {
  what: "switched-off" | "switched-on" | "set";
  because: string;
}

interface Expected {
  settings: { setVolts: number; limitAmps: number; sinceMs: number } | null;
  /** `seen` false: it was switched off just now, and no answer has said so yet. */
  output: { state: "on" | "off"; sinceMs: number; seen: boolean } | null;
}

/** Steps are not known of every supply; two read-backs of one setting differ by less than this, volts or amps. */
const LEAST_STEP = 0.001;

/**
 * Knows what this program set last, and finds what somebody else did since: a knob, the output key, a protection, a
 * restart. Nothing is expected while a change of our own is under way.
 */
export class PanelWatch {
  readonly #expected = new Map<Supply, Map<number, Expected>>();

  /** The settings read back after a change of ours; null while one is under way. */
  settings(supply: Supply, channel: number, got: ChannelSettings | null, nowMs: number): void {
    this.#of(supply, channel).settings =
      got === null ? null : { setVolts: got.setVolts, limitAmps: got.limitAmps, sinceMs: nowMs };
  }

  output(supply: Supply, channel: number, state: "on" | "off" | null, nowMs: number): void {
    this.#of(supply, channel).output = state === null ? null : { state, sinceMs: nowMs, seen: true };
  }

  /** Off was written and is not proved yet: an answer that says on counts as a change once one has said off. */
  cut(supply: Supply, channel: number, nowMs: number): void {
    this.#of(supply, channel).output = { state: "off", sinceMs: nowMs, seen: false };
  }

  /** The difference in an answer to a question written at `queriedAtMs`; null where there is none, or none to tell. */
  changeIn(supply: Supply, channel: number, panel: PanelState, queriedAtMs: number): PanelChange | null {
    const expected = this.#of(supply, channel);
    const { settings, output } = expected;
    const isNews = output !== null && panel.output !== undefined && queriedAtMs >= output.sinceMs;
    if (isNews && panel.output === output.state) expected.output = { ...output, seen: true };
    if (isNews && panel.output !== output.state && output.seen) {
      return panel.output === "on"
        ? { what: "switched-on", because: "its output was switched on" }
        : { what: "switched-off", because: "its output was switched off" };
    }
    if (settings === null || queriedAtMs < settings.sinceMs) return null;
    const { stepVolts, stepAmps } = supply.traits;
    const differs = (is: number | undefined, was: number, step: number | null): boolean =>
      is !== undefined && Math.abs(is - was) > Math.max(LEAST_STEP, step ?? 0) / 2;
    if (differs(panel.setVolts, settings.setVolts, stepVolts))
      return { what: "set", because: `its voltage reads ${panel.setVolts} V, but ${settings.setVolts} V was set` };
    if (differs(panel.limitAmps, settings.limitAmps, stepAmps))
      return { what: "set", because: `its limit reads ${panel.limitAmps} A, but ${settings.limitAmps} A was set` };
    return null;
  }

  #of(supply: Supply, channel: number): Expected {
    const channels = this.#expected.get(supply) ?? new Map<number, Expected>();
    this.#expected.set(supply, channels);
    const expected = channels.get(channel) ?? { settings: null, output: null };
    channels.set(channel, expected);
    return expected;
  }
}
