import { sayAmps, sayOhms } from "./amounts.ts";
import type { DrawClass, OverloadKind } from "./draw-verdict.ts";
import type { RunVerdict } from "./nothing-learned.ts";
import type { RunOutcome } from "./plan.ts";

/** What a technician does next after each class (common practice, no source); the first thing first. */
const NEXT: Record<DrawClass, readonly string[]> = {
  "open-input": [
    "Check the leads and the return at the card end.",
    "Measure the volts behind the input fuse and the shunt.",
    "An open fuse has a cause: measure the ohms behind it before it is replaced.",
  ],
  "dead-short": [
    "Do not raise the limit. Leave the feed off.",
    "Measure 12 V to core and 12 V to memory. A pair that reads as the rail itself is a shorted high side: never give it 12 V.",
    "Hunt the short at 1 V at most, with a thermal camera or millivolts along the plane.",
  ],
  overload: [
    "Leave it off.",
    "Compare the cold ohms of each rail with a good board.",
    "Do not raise the limit to make a fault go away: lower the voltage and find the heat.",
  ],
  retrying: [
    "Look for the rail that pulses: AC volts or a scope at each converter's output.",
    "Measure that rail's cold ohms: a converter that retries has a short or an overload behind it.",
  ],
  "standby-only": [
    "Check 3.3 V, 5 V and 1.8 V in this order.",
    "Check the sense pins of the power connector and the enable chain.",
  ],
  "partly-up": ["Walk the rails in the order they depend on each other; the first that is missing is where it stops."],
  "core-alive": [
    "The core draws. Whether the card is listed needs a host: reset, clock, firmware and lanes come next.",
    "Measure every rail once more, the small ones too, before trying a host.",
  ],
  normal: ["The draw is that of a good board; that is no proof that it works.", "Measure the rails, then try a host."],
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
    "Inject 1 V at most into the rail that is low, and look for the part that warms.",
  ],
  junction: [
    "Check the polarity of the leads at the card end with a meter: reversed leads look like this.",
    "Polarity right: a body diode conducts. Measure the diode drop of the input and of each power stage, both ways.",
  ],
  "over-demand": [
    "Leave it off.",
    "Check that no fan or other load is on, then compare the cold ohms of each rail with a good board.",
  ],
  leaky: [
    "Leave it off and let it cool.",
    "Watch the chip and the power stages with a thermal camera at the next short run.",
  ],
  "start-loop": [
    "Check that the limit suits this board: a start that loops is most often a limit too low.",
    "At the right limit it still loops: measure the cold ohms of each rail; one is overloaded.",
  ],
  unknown: [
    "Leave it off.",
    "Check the polarity of the leads at the card end.",
    "Measure the cold ohms of each rail, and from the input to core and memory: the same ohms as the rail itself is a shorted high side.",
  ],
};

/** Ohms of cores (common practice, no source): an input that reads so may be the core behind a shorted switch. */
const CORE_OHMS = [0.05, 5] as const;

type Judged = Pick<RunVerdict, "class" | "sub" | "because"> & Partial<Pick<RunVerdict, "candidates" | "features">>;

/**
 * What to do next, first things first: by the trip and the kind of fault where they say more than the class. Common practice, no
 * source.
 */
export function nextSteps(verdict: Judged, ended: Partial<Pick<RunOutcome, "trip" | "limitToTry">> = {}): string[] {
  if (verdict.class === null) return [...verdict.because];
  const { trip = null, limitToTry = null } = ended;
  const raise =
    limitToTry === null
      ? []
      : [
          `Once cold ohms and touch are clean, try ${sayAmps(limitToTry.amps)} on ${limitToTry.feed}: a jump to nominal means start demand.`,
        ];
  if (trip?.rule === "back-feed")
    return [
      "Leave it off.",
      `Measure the ohms from ${trip.feed ?? "the feed that showed volts"} to the feeds that were on, everything off: the regulator between them is shorted.`,
      "Lift that regulator's output inductor or its input, and measure both sides again.",
    ];
  const shortOhms = verdict.features?.shortOhms ?? null;
  const mayBeCore = shortOhms !== null && shortOhms >= CORE_OHMS[0] && shortOhms <= CORE_OHMS[1];
  const isShort = verdict.class === "dead-short" || (verdict.class === "overload" && verdict.sub !== "junction");
  if (isShort && mayBeCore && trip?.rule !== "junction")
    return [
      "Do not raise the limit. Leave it off, and never give it 12 V before this is clear.",
      `${sayOhms(shortOhms)} is what a core reads: measure from this input to the core and to memory. The same ohms there: a shorted high side.`,
      "Find which phase: measure across the high-side switch of each; the shorted one reads near zero.",
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
      "A rail that pulses: measure its cold ohms, everything off.",
    ];
  if (first === "open-input" || second === "open-input")
    return [
      "Put a meter that reads 0.1 mA into the lead, or measure the volts behind the input fuse.",
      "Volts there and no current: the enable chain; no volts: fuse, shunt or connector.",
    ];
  if (first === "creeping" || second === "creeping")
    return ["Watch it for a minute with a cooler on: a draw that flattens warms up, one that does not leaks."];
  if (first === "overload" || first === "dead-short")
    return [
      "Leave it off and measure the cold ohms of each rail: a short shows there, a start demand does not.",
      "All clean: a second, higher limit within what the board allows decides; a jump to nominal means start demand.",
    ];
  return NEXT["cannot-tell"];
}
