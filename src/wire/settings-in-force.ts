import type { PlanEvent } from "../../shared/plan.ts";
import type { WireSetting } from "../../shared/wire.ts";

/**
 * The settings that a run's supplies were under, a fold of its events: each as it was read back, from the time at which it
 * was both read back and on, until another was read back, or the output was off. What was only asked for is not in it.
 */
export function settingsAfter(known: SettingsInForce, event: PlanEvent): SettingsInForce {
  switch (event.event) {
    case "configured": {
      const { feed, atMs, setVolts, limitAmps, overVolts } = event;
      const setting = { volts: setVolts, limitAmps, overVolts };
      const ready = { ...known.ready, [feed]: setting };
      const running = known.spans.find((each) => each.feed === feed && each.untilMs === null);
      if (running === undefined || isSame(running, setting)) return { ...known, ready };
      const closed = ended(known.spans, atMs, feed);
      return { ready, spans: [...closed, { feed, ...setting, fromMs: atMs, untilMs: null }] };
    }
    case "output": {
      const { feed, atMs, state } = event;
      if (state === "off") return { ...known, spans: ended(known.spans, atMs, feed) };
      const setting = known.ready[feed];
      const isOn = known.spans.some((each) => each.feed === feed && each.untilMs === null);
      if (setting === undefined || isOn) return known;
      return { ...known, spans: [...known.spans, { feed, ...setting, fromMs: atMs, untilMs: null }] };
    }
    case "cut-done":
      return { ...known, spans: ended(known.spans, event.atMs, null) };
    default:
      return known;
  }
}

/** The settings of a run that is over: none is in force after `atMs`. */
export const settingsEnded = (known: SettingsInForce, atMs: number): SettingsInForce => ({
  ...known,
  spans: ended(known.spans, atMs, null),
});

export interface SettingsInForce {
  spans: WireSetting[];
  /** The settings of each feed that were read back last, whether it is on or not. */
  ready: Record<string, Omit<WireSetting, "feed" | "fromMs" | "untilMs">>;
}

export const NO_SETTINGS: SettingsInForce = { spans: [], ready: {} };

const isSame = (span: WireSetting, setting: SettingsInForce["ready"][string]): boolean =>
  span.volts === setting.volts && span.limitAmps === setting.limitAmps && span.overVolts === setting.overVolts;

/** `feed` null: all of them. */
const ended = (spans: readonly WireSetting[], atMs: number, feed: string | null): WireSetting[] =>
  spans.map((each) =>
    each.untilMs === null && (feed === null || each.feed === feed) ? { ...each, untilMs: atMs } : each,
  );

/** A limit that was raised above what its feed had at the same volts, as a line of a log; null where the event raises none. */
export function raiseInWords(before: SettingsInForce, event: PlanEvent): string | null {
  if (event.event !== "configured") return null;
  const { feed, limitAmps, setVolts } = event;
  // The ladder raises a limit over a cut, with the low stages between: it is held against the last time at these volts.
  const was = before.spans.findLast((each) => each.feed === feed && each.volts === setVolts);
  if (was === undefined || limitAmps <= was.limitAmps) return null;
  return `${feed}: the limit was raised from ${was.limitAmps} A to ${limitAmps} A, read back.`;
}
