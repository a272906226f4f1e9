import type { DrawInput } from "../../shared/draw-input.ts";
import type { Candidate, DrawClass } from "../../shared/draw-verdict.ts";
import type { TripRule } from "../../shared/plan.ts";
import { classInSentence } from "../../shared/words/class-words.ts";
import type { Finding } from "./finding.ts";
import { LIMIT_RIVALS } from "./rule-limited.ts";

/** Classes that do not name a fault; none of them may stand after a run that was cut for the board. */
const FAULTLESS: readonly DrawClass[] = ["open-input", "standby-only", "partly-up", "core-alive", "normal"];

const SHORTED: readonly Candidate[] = [
  { class: "overload", probability: 0.6 },
  { class: "dead-short", probability: 0.25 },
];
/** The finding of a cut by itself, where the readings before it did not show it: a class, or the possible ones (weights: common practice, no source). */
const BY_RULE: Partial<Record<TripRule, { class: DrawClass; rivals: readonly Candidate[] }>> = {
  "dead-short": { class: "dead-short", rivals: [{ class: "overload", probability: 0.2 }] },
  "partial-short": { class: "overload", rivals: [{ class: "dead-short", probability: 0.15 }] },
  junction: { class: "overload", rivals: [{ class: "dead-short", probability: 0.1 }] },
  collapse: { class: "overload", rivals: [{ class: "dead-short", probability: 0.2 }] },
  "over-power": { class: "overload", rivals: [{ class: "dead-short", probability: 0.1 }] },
  creeping: { class: "creeping", rivals: [{ class: "overload", probability: 0.15 }] },
  limiting: { class: "cannot-tell", rivals: LIMIT_RIVALS },
  "start-loop": { class: "cannot-tell", rivals: LIMIT_RIVALS },
};

/**
 * The finding once it is known that the run was cut for the board: the cut decides over a level before it. A fault that the
 * readings show stays; a healthy class goes; what could not be told gets the cut's reason and its candidates.
 */
export function withTrip(finding: Finding, trip: DrawInput["trip"]): Finding {
  if (trip == null || !trip.board) return finding;
  const isFaultless = FAULTLESS.includes(finding.class);
  const blind = finding.class === "cannot-tell" && finding.rivals.length === 0;
  if (!isFaultless && !blind) {
    return finding.class === "cannot-tell" ? { ...finding, because: [...finding.because, saysTrip(trip)] } : finding;
  }
  const said = BY_RULE[trip.rule] ?? { class: "cannot-tell" as const, rivals: SHORTED };
  const because = [
    saysTrip(trip),
    ...(isFaultless
      ? [`The level before that looked like "${classInSentence(finding.class)}", but the cut decides.`]
      : []),
  ];
  return {
    outsideStudy: true,
    class: said.class,
    ...(said.class === "overload" ? { sub: "unknown" as const } : {}),
    probability: said.class === "cannot-tell" ? 0 : 0.75,
    rivals: said.rivals.map((each) => ({ ...each })),
    because,
    ...(trip.feed === null ? {} : { feed: trip.feed }),
  };
}

const saysTrip = ({ because }: { because: string }): string => `The run was cut because of the board: ${because}.`;
