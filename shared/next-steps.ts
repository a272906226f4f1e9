import type { DrawClass, DrawVerdict } from "./draw-verdict.ts";
import type { RunVerdict } from "./nothing-learned.ts";

/** What a technician does next after each class (common practice, no source); the first thing first. */
const NEXT: Record<DrawClass, readonly string[]> = {
  "open-input": [
    "Check the leads and the return at the card end.",
    "Measure the volts behind the input fuse and the shunt.",
    "An open fuse has a cause: measure the ohms behind it before it is replaced.",
  ],
  "dead-short": [
    "Do not raise the limit. Leave the feed off.",
    "Measure 12 V to core: under 20 Ω means a shorted high side, never power then.",
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
  "cannot-tell": ["Read the evidence: it names what could not be seen and what would decide."],
};

/** What a technician does next after each kind of overload (common practice, no source). */
const AFTER_OVERLOAD: Record<NonNullable<DrawVerdict["sub"]>, readonly string[]> = {
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
  unknown: NEXT.overload,
};

/** What to do next after a verdict; where the run has none, its one sentence has said it. */
export function nextSteps(verdict: Pick<RunVerdict, "class" | "sub" | "because">): string[] {
  if (verdict.class === null) return [...verdict.because];
  return [
    ...(verdict.class === "overload" && verdict.sub !== undefined ? AFTER_OVERLOAD[verdict.sub] : NEXT[verdict.class]),
  ];
}
