import type { WireDown } from "../shared/wire.ts";
import type { PageState } from "./page-state.ts";

export type ToneName = "limiting" | "collapse" | "settled" | "cut" | "question" | "alarm";

/** The tone an arriving message asks for, by what was known before it; null for silence. */
export function toneFor(before: PageState, message: WireDown): ToneName | null {
  switch (message.type) {
    case "frame": {
      const starts = message.feeds.some(
        (feed) =>
          feed.output === "on" &&
          feed.readings.some((reading) => reading.mode === "cc") &&
          before.feeds[feed.feed]?.last?.mode !== "cc",
      );
      return starts ? "limiting" : null;
    }
    case "trip":
      return message.trip.rule === "collapse" || message.trip.rule === "start-loop" ? "collapse" : "cut";
    case "outcome":
      return message.outcome.ended === "stopped-by-person" && message.outcome.trip === null ? "cut" : null;
    case "verdict":
      return "settled";
    case "question":
      return message.question === null ? null : "question";
    case "alarm":
      return message.alarm === null ? null : "alarm";
    default:
      return null;
  }
}
