import { nothingLearned } from "../../shared/nothing-learned.ts";
import type { PageState } from "../page/page-state.ts";

const ONE_HAND = "One probe at a time; any smell, smoke or spark: cut.";

/** What to do next, first things first: what stands in the way now, else what the verdict asks for. */
export function nextSteps(state: PageState): string[] {
  if (state.alarm !== null) return ["Switch the supply off by its own switch. Then see why it did not answer."];
  if (state.question !== null) return ["Answer the question; nothing goes on before."];
  const { sweep } = state;
  if (sweep !== null && sweep.done === null) {
    if (sweep.place !== null) return [`Put the probe on ${sweep.place.rail}: ${sweep.place.point}.`, ONE_HAND];
    return sweep.cooling === null ? ["Wait with the probe in the air."] : ["The board is off and cools. Let it."];
  }
  if (state.run !== null && state.run.outcome === null)
    return ["Hands on the probes, eyes on the board. Any smell, smoke or spark: cut."];
  if (sweep?.done?.diagnosis != null) {
    const { held, next } = sweep.done.diagnosis;
    const [first] = next;
    return [
      ...(held === null ? [] : [held]),
      first === undefined ? "Nothing that is left would tell more." : first.ask,
    ];
  }
  if (state.verdict !== null) return state.verdict.next;
  if (state.bench?.feeds.length === 0)
    return ["Look at the record, or write in it. To energise anything the daemon is started with a bench file."];
  const nothing = state.run?.outcome == null ? null : nothingLearned(state.run.outcome);
  if (nothing !== null) return [nothing];
  if (state.run?.outcome?.trip != null) return ["Read why it was cut. Change one thing, then prepare again."];
  return [
    "Take cold readings of every feed and rail pair.",
    "Check polarity at the card end.",
    "Then prepare the first power-up.",
  ];
}
