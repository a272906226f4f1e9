import { goesOn, mayBeOn, onAgainIn, type PageState } from "./page-state.ts";

/** The state of the whole bench, as the largest thing on the screen says it. */
export type PowerState = "on" | "off" | "between" | "ending" | "unknown" | "no-bench";

/** On where a feed is on; unknown where one is not known, or the daemon is out of hearing; ending while a run switches off; between while it is off and comes on again by itself. */
export function powerState(state: PageState): PowerState {
  if (state.bench === null || state.bench.feeds.length === 0) return "no-bench";
  const outputs = Object.values(state.feeds).map((feed) => feed.output);
  if (state.phase !== "live" || state.alarm !== null) return "unknown";
  const running = state.run !== null && state.run.outcome === null;
  if (running && (state.run?.stage === "off" || state.run?.waitingFor.startsWith("nothing") === true)) return "ending";
  if (outputs.includes("on")) return "on";
  const comesOn = goesOn(state) || onAgainIn(state, 0) !== null;
  if (comesOn && !running && outputs.every((each) => each === "off")) return "between";
  return mayBeOn(state) && !running ? "unknown" : outputs.every((each) => each === "off") ? "off" : "unknown";
}
