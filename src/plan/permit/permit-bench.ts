import type { Plan, PlanFeed } from "../../../shared/plan.ts";
import { sayAmps, sayVolts } from "../../../shared/words/amounts.ts";
import { NOMINAL_ASSUMED } from "../compile/feed-limits.ts";
import type { PermitEvidence } from "./permit-evidence.ts";
import { fact, type PermitFact } from "./permit-fact.ts";

/** The conditions that the bench itself shows: instruments, outputs, residual volts, limits, protections, feeds that share or are by hand. */
export function benchItems(plan: Plan, evidence: PermitEvidence): PermitFact[] {
  const supplies = [...new Set(plan.feeds.flatMap((each) => (each.supply === null ? [] : [each.supply])))];
  return [
    ...supplies.flatMap((supply) => supplyItems(supply, evidence)),
    ...plan.feeds.flatMap((feed) => (feed.supply === null ? [byHand(feed)] : feedItems(plan, feed, evidence))),
  ];
}

function supplyItems(supply: string, { instruments }: PermitEvidence): PermitFact[] {
  const found = instruments.find((each) => each.name === supply);
  const identified = found !== undefined && found.identity !== "";
  return [
    fact(
      `instrument:${supply}`,
      null,
      `Supply ${supply} identified`,
      identified ? "holds" : "unknown",
      identified ? found.identity : "it did not identify itself",
    ),
    // A warning, not a condition: most supplies have none.
    fact(
      `watchdog:${supply}`,
      null,
      `Supply ${supply} switches off by itself when the computer goes silent`,
      "holds",
      found?.hasWatchdog === true
        ? "it has a communication watchdog"
        : "warning: it has none and stays on if the computer dies; keep its own switch within reach",
    ),
  ];
}

function feedItems(plan: Plan, feed: PlanFeed, { found }: PermitEvidence): PermitFact[] {
  const { feed: name } = feed;
  const seen = found.find((each) => each.feed === name);
  return [
    ...assumedItems(feed),
    outputItem(name, seen),
    residualItem(plan, name, seen),
    limitsItem(feed),
    fact(
      `settings:${name}`,
      name,
      `Settings of ${name} read back and equal`,
      "holds",
      "each is read back and compared before its stage is energised; a difference ends the run with everything off",
    ),
    feed.hasOverVoltage
      ? fact(
          `over-voltage:${name}`,
          name,
          `Over-voltage protection for ${name}`,
          "holds",
          `set for each stage, ${sayVolts(feed.nominal.overVolts)} at nominal`,
        )
      : fact(
          `over-voltage:${name}`,
          name,
          `Over-voltage protection for ${name}`,
          "not-done",
          "none: the supply has no such protection, and the program can only switch off after the voltage was too high",
        ),
    ...(feed.ganged === undefined
      ? []
      : [
          fact(
            `ganged:${name}`,
            name,
            `${name} and ${feed.ganged.join(", ")} share a channel`,
            "holds",
            "noted: their currents cannot be told apart, and the lowest of their limits applies",
          ),
        ]),
  ];
}

function assumedItems({ feed, assumed = [] }: PlanFeed): PermitFact[] {
  const [first] = assumed;
  if (first === undefined) return [];
  const evidence = `built-in defaults: ${assumed.join("; ")}`;
  // Which volts a feed wants is never guessed without a person's word.
  return [
    fact(
      `defaults:${feed}`,
      feed,
      `Volts and limits of ${feed} stated`,
      first === NOMINAL_ASSUMED ? "not-done" : "holds",
      evidence,
    ),
  ];
}

type Found = PermitEvidence["found"][number] | undefined;

function outputItem(name: string, seen: Found): PermitFact {
  const asks = `Output of ${name} found off`;
  if (seen === undefined) return fact(`output:${name}`, name, asks, "unknown", "it was not read");
  if (seen.output === "on") return fact(`output:${name}`, name, asks, "measured-bad", "it is on");
  if (seen.output === "unknown") return fact(`output:${name}`, name, asks, "unknown", "its state could not be read");
  return fact(`output:${name}`, name, asks, "holds", seen.cutByUs ? "found on, cut, and read back as off" : "off");
}

function residualItem(plan: Plan, name: string, seen: Found): PermitFact {
  const asks = `Less than ${sayVolts(plan.residualVolts)} left on ${name}`;
  if (seen === undefined || seen.volts === null)
    return fact(`residual:${name}`, name, asks, "unknown", "its volts were not read");
  if (Math.abs(seen.volts) < plan.residualVolts)
    return fact(`residual:${name}`, name, asks, "holds", sayVolts(seen.volts));
  // The charge that our own cut has left is running off, and the run itself waits for it.
  if (seen.cutByUs)
    return fact(
      `residual:${name}`,
      name,
      asks,
      "holds",
      `${sayVolts(seen.volts)} after the cut; nothing is energised until it has fallen`,
    );
  return fact(
    `residual:${name}`,
    name,
    asks,
    "measured-bad",
    `${sayVolts(seen.volts)} with the output off: something else feeds it, or it must be discharged first`,
  );
}

function limitsItem(feed: PlanFeed): PermitFact {
  const most = Math.max(
    feed.nominal.limitAmps,
    feed.touch.limitAmps,
    feed.holdLow?.limitAmps ?? 0,
    ...feed.ladderAmps,
    ...feed.twoLimitAmps,
  );
  const inside = most <= feed.limitAmps * 1.0001 && feed.nominal.volts <= feed.maxVolts;
  const evidence = `at most ${sayAmps(most)} of ${sayAmps(feed.limitAmps)}, ${sayVolts(feed.nominal.volts)} of ${sayVolts(feed.maxVolts)}`;
  return fact(
    `limits:${feed.feed}`,
    feed.feed,
    `Limits of ${feed.feed} inside the board's and the supply's`,
    inside ? "holds" : "measured-bad",
    evidence,
  );
}

const byHand = ({ feed, assumed }: PlanFeed): PermitFact =>
  fact(
    `manual:${feed}`,
    feed,
    `${feed} is switched by a person`,
    "holds",
    `the program cannot cut it; it will ask you to switch it${assumed === undefined ? "" : `; ${assumed.join("; ")}`}`,
  );
