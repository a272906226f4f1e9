import type { SweepLine } from "../../shared/sweep.ts";
import type { WireDown } from "../../shared/wire.ts";
import type { PageState } from "./page-state.ts";

export type ToneName =
  | "limiting"
  | "collapse"
  | "settled"
  | "cut"
  | "question"
  | "alarm"
  | "place"
  | "taken"
  | "taken-bad"
  | "nothing"
  | "cooling";

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
    case "sweep-line":
      return sweepTone(before, message.line);
    case "alarm":
      return message.alarm === null ? null : "alarm";
    default:
      return null;
  }
}

/** Taken and within, taken and not, asked, off for a while: told apart without a look at the screen. */
function sweepTone(before: PageState, line: SweepLine): ToneName | null {
  switch (line.event) {
    case "place-probe":
      return "place";
    case "rail":
      return line.verdict === "pass" || line.verdict === "conditional-pass" ? "taken" : "taken-bad";
    case "question":
      return "question";
    case "cooling":
      return before.sweep?.cooling === null ? "cooling" : null;
    case "done":
      return "settled";
    default:
      return null;
  }
}
