import type { DrawClass, OverloadKind } from "../draw-verdict.ts";
import type { RunOutcome } from "../plan.ts";
import { sayAmps, sayOhms } from "./amounts.ts";
import type { RunVerdict } from "./nothing-learned.ts";

/** The next steps of a technician after each class (common practice, no source); the first thing first. */
const NEXT: Record<DrawClass, readonly string[]> = {
  "open-input": [
    "Check the leads and the return at the card end.",
    "Measure the voltage behind the input fuse and the shunt.",
    "An open fuse has a cause: measure the ohms behind it before you replace it.",
  ],
  "dead-short": [
    "Do not raise the limit. Leave the feed off.",
    "Measure 12 V to core and 12 V to memory. If a pair reads the same as the rail, the high side is shorted: never give it 12 V.",
    "Hunt the short at 1 V at most, with a thermal camera or with millivolts along the plane.",
  ],
  overload: [
    "Leave it off.",
    "Compare the cold ohms of each rail with a good board.",
    "Do not raise the limit to make a fault disappear: lower the voltage and find the heat.",
  ],
  retrying: [
    "Look for the rail that pulses: AC volts or a scope at each converter's output.",
    "Measure that rail's cold ohms: a converter that retries has a short or an overload behind it.",
  ],
  "standby-only": [
    "Check 3.3 V, 5 V and 1.8 V in this order.",
    "Check the sense pins of the power connector and the enable chain.",
  ],
  "partly-up": [
    "Measure the rails in the order in which they depend on each other; the board stops at the first one that is missing.",
  ],
  "core-alive": [
    "The core draws current. Only a host shows whether the card is listed: check reset, clock, firmware and lanes next.",
    "Measure every rail again, including the small ones, before you try a host.",
  ],
  normal: [
    "The draw is that of a good board, but this does not prove that the board works.",
    "Measure the rails, then try a host.",
  ],
  creeping: [
    "Leave it off and let it cool.",
    "Look for heat in the first seconds: leakage in a chip or a power stage.",
    "Fit a cooler before the next attempt.",
  ],
  "cannot-tell": ["Repeat the run with a longer watch, and measure the cold ohms of every input and rail first."],
};

const OVERLOADS: Record<OverloadKind, readonly string[]> = {
  ohmic: [
    "Leave it off.",
    "Measure the cold ohms of each rail, then from the input to core and memory.",
    "Inject 1 V at most into the rail that reads low, and look for the part that warms up.",
  ],
  junction: [
    "Check the polarity of the leads at the card end with a meter: reversed leads look like this.",
    "If the polarity is right, a body diode conducts. Measure the diode drop of the input and of each power stage, both ways.",
  ],
  "over-demand": [
    "Leave it off.",
    "Check that no fan or other load is on, then compare the cold ohms of each rail with a good board.",
  ],
  leaky: [
    "Leave it off and let it cool.",
    "Watch the chip and the power stages with a thermal camera during the next short run.",
  ],
  "start-loop": [
    "Check that the limit suits this board: a start that loops most often means that the limit is too low.",
    "If it still loops at the right limit, measure the cold ohms of each rail; one is overloaded.",
  ],
  unknown: [
    "Leave it off.",
    "Check the polarity of the leads at the card end.",
    "Measure the cold ohms of each rail, and from the input to core and memory. If a pair reads the same as the rail, the high side is shorted.",
  ],
};

/** Ohms of cores (common practice, no source): an input that reads so may be the core behind a shorted switch. */
const CORE_OHMS = [0.05, 5] as const;

type Judged = Pick<RunVerdict, "class" | "sub" | "because"> & Partial<Pick<RunVerdict, "candidates" | "features">>;

/**
 * The next steps, first things first: by the trip and the kind of fault where they say more than the class. Common practice, no
 * source.
 */
export function nextSteps(verdict: Judged, ended: Partial<Pick<RunOutcome, "trip" | "limitToTry">> = {}): string[] {
  if (verdict.class === null) return [...verdict.because];
  const { trip = null, limitToTry = null } = ended;
  const raise =
    limitToTry === null
      ? []
      : [
          `If the cold ohms and the touch are clean, try ${sayAmps(limitToTry.amps)} on ${limitToTry.feed}: if the voltage jumps to nominal, the start needed more current.`,
        ];
  if (trip?.rule === "back-feed")
    return [
      "Leave it off.",
      `With everything off, measure the ohms from ${trip.feed ?? "the feed that showed volts"} to the feeds that were on: the regulator between them is shorted.`,
      "Lift that regulator's output inductor or its input, and measure both sides again.",
    ];
  const shortOhms = verdict.features?.shortOhms ?? null;
  const mayBeCore = shortOhms !== null && shortOhms >= CORE_OHMS[0] && shortOhms <= CORE_OHMS[1];
  const isShort = verdict.class === "dead-short" || (verdict.class === "overload" && verdict.sub !== "junction");
  if (isShort && mayBeCore && trip?.rule !== "junction")
    return [
      "Do not raise the limit. Leave it off, and never give it 12 V before this is explained.",
      `${sayOhms(shortOhms)} is what a core reads. Measure from this input to the core and to memory; the same ohms mean a shorted high side.`,
      "Find the phase: measure across the high-side switch of each phase; the shorted one reads near zero.",
    ];
  if (trip?.rule === "junction") return [...OVERLOADS.junction];
  if (verdict.sub === "start-loop" || trip?.rule === "start-loop") return [...raise, ...OVERLOADS["start-loop"]];
  if (verdict.class === "overload") return [...raise, ...OVERLOADS[verdict.sub ?? "unknown"]];
  if (verdict.class === "cannot-tell") return [...raise, ...undecided(verdict)];
  return [...NEXT[verdict.class]];
}

/** By what stands first among the candidates: the measurement that decides. */
function undecided({ candidates = [] }: Judged): readonly string[] {
  const [first, second] = candidates.map((each) => each.class);
  if (first === "retrying" || second === "retrying")
    return [
      "It may retry faster than this meter reads: measure AC volts at each converter's output, or put a scope on the feed.",
      "If a rail pulses, measure its cold ohms with everything off.",
    ];
  if (first === "open-input" || second === "open-input")
    return [
      "Put a meter that reads 0.1 mA into the lead, or measure the voltage behind the input fuse.",
      "Voltage but no current: check the enable chain. No voltage: check fuse, shunt and connector.",
    ];
  if (first === "creeping" || second === "creeping")
    return ["Watch it for a minute with a cooler on: a warming board flattens, a leaking one does not."];
  if (first === "overload" || first === "dead-short")
    return [
      "Leave it off and measure the cold ohms of each rail: a short shows there, a start that needs more current does not.",
      "If all are clean, a second, higher limit within what the board allows decides: if the voltage jumps to nominal, the start needed more current.",
    ];
  return NEXT["cannot-tell"];
}
