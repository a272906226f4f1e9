import { ampsOf, voltsOf } from "../../shared/reading.ts";
import { advance } from "../../src/plan/machine/advance.ts";
import { initialState } from "../../src/plan/machine/machine-state.ts";
import type { HistoryEntry } from "../../src/simulator/history.ts";
import type { FaultBench } from "./fault-bench.ts";

/** What a run's history breaks of the properties; sentences, empty where it keeps them. */
export interface Broken {
  /** Published values that were no answer to their own question. */
  wrongValues: string[];
  /** Outputs that came on without having been asked for. */
  unasked: string[];
  /** Times energised without a fresh reading, a live lease or an armed guardian. */
  unwatched: string[];
}

/** A reading is published within this of its answer: the batch in which events leave the bench, ms. */
const BATCH_MS = 50;
const SLACK_MS = 20;

/**
 * Checks what the simulator saw, command by command, against what the bench published and its plan asked for. The
 * simulator's own history and truth are the measure; nothing the bench says of itself is.
 */
export function brokenProperties(bench: FaultBench): Broken {
  const history = bench.simulation.history();
  return { wrongValues: wrongValues(bench, history), unasked: unasked(bench, history), unwatched: unwatched(bench) };
}

/** Every published value must stand in an answer the instrument gave between its question and its time. */
function wrongValues({ published, simulation }: FaultBench, history: readonly HistoryEntry[]): string[] {
  const wrong: string[] = [];
  const replies = history.filter((each) => each.kind === "reply");
  for (const { askedMs, answeredMs, reading } of published) {
    const source = simulation.benchFile.feeds[reading.feed];
    const supply = source === undefined || "manual" in source ? "" : source.supply;
    const numbers = replies
      .filter((each) => each.instrument === supply && each.atMs >= askedMs - 0.001 && each.atMs <= answeredMs + 0.001)
      .flatMap((each) => each.text.split(/[;,]/).map(Number));
    for (const value of [voltsOf(reading), ampsOf(reading)]) {
      if (value === undefined || numbers.some((each) => Math.abs(each - value) < 1e-9)) continue;
      wrong.push(
        `${reading.feed} published ${value} asked at ${askedMs}, answered at ${answeredMs} ms; the supply had said ${numbers.join(" ")}`,
      );
    }
  }
  return wrong;
}

/** What the plan asked for, by replaying its events: outputs on, and when everything was cut; simulation time. */
function askedFor(bench: FaultBench): {
  ons: { feed: string; atMs: number }[];
  cutMs: number;
} {
  const { events, plan } = bench;
  const ons: { feed: string; atMs: number }[] = [];
  let cutMs = Number.POSITIVE_INFINITY;
  if (plan === undefined) return { ons, cutMs };
  let state = initialState(plan);
  for (const event of events) {
    const step = advance(plan, state, event);
    state = step.state;
    const atMs = bench.simulationMs(event.atMs);
    for (const effect of step.effects) {
      if (effect.effect === "output-on") ons.push({ feed: effect.feed, atMs });
      if (effect.effect === "cut") cutMs = Math.min(cutMs, atMs);
    }
  }
  return { ons, cutMs };
}

/** Every on by a command was asked by the plan, once, and not carried over to another connection. */
function unasked(bench: FaultBench, history: readonly HistoryEntry[]): string[] {
  const { simulation } = bench;
  const asked = askedFor(bench).ons;
  const broken: string[] = [];
  for (const entry of history) {
    if (entry.kind !== "state" || !/ output on \((command|protection cleared)\)$/.test(entry.text)) continue;
    const feed = entry.text.split(" ")[0] ?? "";
    const at = asked.findIndex((each) => each.feed === feed && each.atMs <= entry.atMs + 0.001);
    const [found] = at < 0 ? [] : asked.splice(at, 1);
    const volts = simulation.truth().feeds[feed]?.maxBoardVolts ?? 0;
    // A protection that restores an output does it at zero volts, and is found and cut.
    if (found === undefined && entry.text.endsWith("(protection cleared)") && volts < 0.3) continue;
    if (found === undefined) broken.push(`${entry.text} at ${entry.atMs} ms, which nobody had asked for`);
    else if (entry.atMs - found.atMs > 1100)
      broken.push(`${entry.text}, asked for ${entry.atMs - found.atMs} ms before`);
    else if (
      history.some(
        (each) =>
          each.kind === "link" &&
          each.text === "connected" &&
          each.instrument === entry.instrument &&
          each.atMs > found.atMs &&
          each.atMs < entry.atMs,
      )
    ) {
      broken.push(`${entry.text} on another connection than it was asked for on`);
    }
  }
  return broken;
}

/** While an output is on: a reading within the plan's limit, and a guardian armed before. Once it is cut, neither is asked for. */
function unwatched(bench: FaultBench): string[] {
  const { simulation, published, plan, armedMs } = bench;
  const { cutMs } = askedFor(bench);
  const broken: string[] = [];
  if (plan === undefined) return broken;
  for (const [feed, truth] of Object.entries(simulation.truth().feeds)) {
    if (!plan.feeds.some((each) => each.feed === feed)) continue;
    truth.switchings.forEach((on, index) => {
      if (on.output !== "on" || on.why !== "command") return;
      const offMs = Math.max(on.atMs, Math.min(truth.switchings[index + 1]?.atMs ?? simulation.truth().atMs, cutMs));
      if (!armedMs.some((each) => each <= on.atMs))
        broken.push(`${feed} on at ${on.atMs} ms without an armed guardian`);
      const readAt = published
        .filter((each) => each.reading.feed === feed && each.answeredMs >= on.atMs && each.answeredMs <= offMs)
        .map((each) => each.answeredMs);
      const longest = [on.atMs, ...readAt, offMs].reduce(
        (most, each, place, all) => Math.max(most, place === 0 ? 0 : each - (all[place - 1] ?? each)),
        0,
      );
      const allowedMs = plan.trips.staleMs + SLACK_MS + BATCH_MS;
      if (longest > allowedMs)
        broken.push(`${feed} was on for ${longest} ms without a reading; ${allowedMs} are allowed`);
    });
  }
  return broken;
}
