import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import type { PageState } from "../page/page-state.ts";

/** What each class of draw means, in a line a person can say to an owner. */
export const CLASS_WORDS: Record<DrawVerdict["class"], string> = {
  "open-input": "Open input: nothing flows in",
  "dead-short": "Dead short",
  overload: "Overload: it draws all it is given",
  retrying: "Retrying: it starts again and again",
  "standby-only": "Standby only: it has not woken up",
  "partly-up": "Partly up: it stops on the way",
  "core-alive": "Core alive: host not tried",
  normal: "Normal draw for this kind of board",
  creeping: "Creeping: the draw keeps rising",
  "cannot-tell": "Cannot tell from these readings",
};

const STEPS: Record<DrawVerdict["class"], string[]> = {
  "open-input": [
    "With the output off, look at leads, polarity and connector seating.",
    "Measure ohms across the input fuse and the sense resistor: open is the likely fault.",
  ],
  "dead-short": [
    "Do not raise the limit. Leave the feed off.",
    "Measure ohms to ground at both ends of the input fuse and at each inductor.",
    "Measure from the 12 V input to the core. The same ohms as the core itself: a shorted high side. Never power it.",
  ],
  overload: [
    "Leave the feed off.",
    "Measure cold ohms of each rail and compare with the board's card; the lowest share of its card comes first.",
  ],
  retrying: [
    "With the output off, measure ohms to ground of each rail behind the converter that restarts.",
    "Look for a warm part right after the run.",
  ],
  "standby-only": [
    "Check that every feed the board needs was on.",
    "Measure the rails in order of the power tree; the first that is missing, then what it needs and its enable.",
  ],
  "partly-up": [
    "Measure the rails in order of the power tree.",
    "At the first missing rail: what it needs, its enable, its ohms to ground.",
  ],
  "core-alive": ["Sweep the rails before a host is risked.", "Then reset, clock and firmware, in that order."],
  normal: ["Sweep the rails: a normal draw does not say that the board works.", "Then try it in a host."],
  creeping: [
    "Leave it off and let it cool.",
    "Run again with a thermal camera ready: the part that warms first is the suspect.",
  ],
  "cannot-tell": ["Look at the two candidates: the sentences below name the measurement that decides between them."],
};

const OVERLOAD_STEPS: Record<NonNullable<DrawVerdict["sub"]>, string[]> = {
  ohmic: [
    "Leave the feed off.",
    "A resistor of this size: inject under 1 V into the rail and look for the part that warms.",
  ],
  junction: [
    "Check the polarity of the leads first, with the meter at the card end.",
    "Polarity right: a body diode conducts; measure the diode drop of each rail.",
  ],
  "over-demand": [
    "It asks for more than the limit. Check that no fan or load is on, then try the limit that the run names.",
  ],
  leaky: ["Leave it off and let it cool. The part that warms first, seen with a thermal camera, is the suspect."],
  "start-loop": ["The limit may be too low for its start. Try the limit that the run names, not more."],
  unknown: ["Repeat with a second, higher limit below 1 V: a resistor gives twice the volts, a junction does not."],
};

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
  if (state.verdict !== null) {
    if (state.verdict.next.length > 0) return state.verdict.next;
    const { verdict } = state.verdict;
    return verdict.class === "overload" && verdict.sub !== undefined
      ? OVERLOAD_STEPS[verdict.sub]
      : STEPS[verdict.class];
  }
  if (state.bench?.feeds.length === 0)
    return ["Look at the record, or write in it. To energise anything the daemon is started with a bench file."];
  if (state.run?.outcome?.trip != null) return ["Read why it was cut. Change one thing, then prepare again."];
  return [
    "Take cold readings of every feed and rail pair.",
    "Check polarity at the card end.",
    "Then prepare the first power-up.",
  ];
}
