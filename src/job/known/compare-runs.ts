import type { DrawClass } from "../../../shared/draw-verdict.ts";
import { chargeUncertainty, plateauUncertainty } from "../../verdict/amps-uncertainty.ts";
import type { JudgedRun } from "../store/runs-of.ts";

/** One figure of two runs. `expanded` is the difference's expanded uncertainty, k = 2, in the figure's own unit. */
export interface FigureComparison {
  figure: "plateauAmps" | "chargeCoulombs";
  a: number | null;
  b: number | null;
  difference: number | null;
  expanded: number | null;
  /** Whether the difference is larger than the instruments' errors can make it. */
  beyondMeterError: "yes" | "no" | "unknown";
}

export interface RunComparison {
  classes: { a: DrawClass; b: DrawClass; same: boolean };
  figures: FigureComparison[];
  /** Sentences on what was not alike in the two runs; a difference may come from these. Empty: alike as far as stated. */
  notAlike: string[];
}

/**
 * The differences of two runs: class of the draw, plateau, charge, and whether a difference is beyond what the instruments' errors
 * explain: |b − a| > U with U = 2·√(u(a)² + u(b)²) (JCGM 100:2008, 5.1.2 and 6.2.1). The errors of one instrument are taken
 * as unrelated between the runs, which makes U rather too wide. Unknown accuracy gives "unknown", never "no".
 */
export function compareRuns(a: JudgedRun, b: JudgedRun): RunComparison {
  const [one, other] = [a.end.verdict, b.end.verdict];
  return {
    classes: { a: one.class, b: other.class, same: one.class === other.class },
    figures: [
      figure("plateauAmps", one.features.plateauAmps, other.features.plateauAmps, [
        plateauUncertainty(a.header, one),
        plateauUncertainty(b.header, other),
      ]),
      figure("chargeCoulombs", one.features.chargeCoulombs, other.features.chargeCoulombs, [
        chargeUncertainty(a.header, one),
        chargeUncertainty(b.header, other),
      ]),
    ],
    notAlike: unlikeness(a, b),
  };
}

function figure(
  name: FigureComparison["figure"],
  a: number | null,
  b: number | null,
  [ua, ub]: [number | null, number | null],
): FigureComparison {
  const difference = a === null || b === null ? null : b - a;
  const expanded = ua === null || ub === null ? null : 2 * Math.hypot(ua, ub);
  const beyondMeterError =
    difference === null || expanded === null ? "unknown" : Math.abs(difference) > expanded ? "yes" : "no";
  return { figure: name, a, b, difference, expanded, beyondMeterError };
}

function unlikeness(a: JudgedRun, b: JudgedRun): string[] {
  const said: string[] = [];
  const differ = (what: string, one: string, other: string) => {
    if (one !== other) said.push(`${what}: ${one} before, ${other} after`);
    else if (one === "unknown") said.push(`${what} was not stated in either run`);
  };
  differ("host", a.header.conditions.host, b.header.conditions.host);
  differ("fans", a.header.conditions.fans, b.header.conditions.fans);
  differ("feeds", feedsOn(a), feedsOn(b));
  for (const feed of a.header.plan.feeds) {
    const same = b.header.plan.feeds.find((each) => each.feed === feed.feed);
    if (same === undefined) continue;
    differ(`current limit of ${feed.feed}`, `${feed.nominal.limitAmps} A`, `${same.nominal.limitAmps} A`);
    differ(`leads of ${feed.feed}`, ohms(feed.leadOhms), ohms(same.leadOhms));
  }
  differ("supply", supplies(a), supplies(b));
  return said;
}

const ohms = (value: number | null) => (value === null ? "unknown" : `${value} Ω`);
const feedsOn = (run: JudgedRun) =>
  run.header.plan.feeds
    .map((each) => each.feed)
    .sort()
    .join(", ");
const supplies = (run: JudgedRun) =>
  run.header.instruments
    .filter((each) => each.kind === "supply")
    .map((each) => each.identity)
    .sort()
    .join("; ");
