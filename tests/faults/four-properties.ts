import { ampsOf, voltsOf } from "../../shared/reading.ts";
import type { HistoryEntry } from "../../src/simulator/history.ts";
import type { FaultBench } from "./fault-bench.ts";
import { type SwitchLine, switchLines } from "./switch-lines.ts";

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
/** Times of readings are kept in whole hundredths of a millisecond. */
const ROUNDED_MS = 0.01;

/**
 * Checks what the simulator saw, command by command, against what the bench process published and wrote. The
 * simulator's own history, the bytes at the bench's end of each line and what it was asked are the measure; its plan, its
 * events and its reasons are not.
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
      .filter(
        (each) =>
          each.instrument === supply && each.atMs >= askedMs - ROUNDED_MS && each.atMs <= answeredMs + ROUNDED_MS,
      )
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

/** An off that is written again within this, with no on between, is a cut: each is written twice, 50 ms apart. */
const REPEATED_MS = 60;
/** An on that comes later than this after it was written was held up, and is no longer meant, ms. */
const HELD_UP_MS = 1100;

/** When a cut of this output first went out while the run was on: by the wire alone. Infinite where none did. */
function cutOnTheWire(lines: readonly SwitchLine[], fromMs: number): number {
  const own = lines.filter((each) => each.atMs >= fromMs);
  const first = own.find(
    (each, place) =>
      each.to === "off" && own[place + 1]?.to === "off" && (own[place + 1]?.atMs ?? 0) - each.atMs <= REPEATED_MS,
  );
  return first?.atMs ?? Number.POSITIVE_INFINITY;
}

/**
 * What may switch on, by the wire and by what was asked and answered; neither the plan nor its events are looked at. Every
 * on is one line that the bench process wrote, on the connection it came over, while a run was asked for and not over, with
 * no cut and no wish to end it before. Each stage of a power-up is on once, with more volts than the one before.
 *
 * Tried once with a machine that rose anew after each proved cut: every row that ends by one said so.
 */
function unasked(bench: FaultBench, history: readonly HistoryEntry[]): string[] {
  const { simulation, askedMs, endedMs, toldToEndMs } = bench;
  const lines = switchLines(bench.written);
  const broken: string[] = [];
  for (const [feed, source] of Object.entries(simulation.benchFile.feeds)) {
    if ("manual" in source) continue;
    const own = lines.filter((each) => each.instrument === source.supply && each.channel === (source.channel ?? 1));
    const cutMs = cutOnTheWire(own, askedMs);
    const written = own.filter((each) => each.to === "on");
    for (const each of written) {
      if (each.atMs < askedMs || each.atMs > endedMs)
        broken.push(`${feed} was told on at ${each.atMs} ms, when no run was on`);
      if (each.atMs > cutMs) broken.push(`${feed} was told on at ${each.atMs} ms, after its cut at ${cutMs} ms`);
      if (each.atMs > toldToEndMs)
        broken.push(
          `${feed} was told on at ${each.atMs} ms; the end of the run had been asked for at ${toldToEndMs} ms`,
        );
    }
    const ons = history.filter(
      (each) =>
        each.kind === "state" && new RegExp(`^${feed} output on \\((command|protection cleared)\\)$`).test(each.text),
    );
    for (const on of ons) {
      const at = written.findIndex((each) => each.atMs <= on.atMs + 0.001);
      const [line] = at < 0 ? [] : written.splice(at, 1);
      // A protection that restores an output does it at zero volts, and is found and cut.
      if (line === undefined && on.text.endsWith("(protection cleared)") && maxVolts(bench, feed) < 0.3) continue;
      if (line === undefined) broken.push(`${on.text} at ${on.atMs} ms, which nobody had written`);
      else if (on.atMs - line.atMs > HELD_UP_MS) broken.push(`${on.text}, written ${on.atMs - line.atMs} ms before`);
      else if (history.some((each) => isConnectionBetween(each, line, on)))
        broken.push(`${on.text} on another connection than it was written to`);
    }
    broken.push(...notRising(feed, ons, history));
  }
  return broken;
}

const maxVolts = (bench: FaultBench, feed: string): number => bench.simulation.truth().feeds[feed]?.maxBoardVolts ?? 0;

const isConnectionBetween = (entry: HistoryEntry, line: SwitchLine, on: HistoryEntry): boolean =>
  entry.kind === "link" &&
  entry.text === "connected" &&
  entry.instrument === on.instrument &&
  entry.atMs > line.atMs &&
  entry.atMs < on.atMs;

/** Volts that were set when a feed came on, as the supply itself noted them: each stage has more than the one before. */
function notRising(feed: string, ons: readonly HistoryEntry[], history: readonly HistoryEntry[]): string[] {
  const isVolts = new RegExp(`^${feed} (?:SOUR\\d*:)?VOLT (\\S+)$`);
  const setVolts = ons.map((on) => {
    const set = history
      .slice(0, history.indexOf(on))
      .findLast((each) => each.kind === "state" && isVolts.test(each.text));
    return Number(isVolts.exec(set?.text ?? "")?.[1] ?? Number.NaN);
  });
  return setVolts.flatMap((volts, place) =>
    place === 0 || volts > (setVolts[place - 1] ?? Number.NaN)
      ? []
      : [`${feed} came on at ${volts} V after it had been on at ${setVolts[place - 1]} V`],
  );
}

/**
 * While an output is on: a reading within the plan's limit, and a guardian armed before. Once off is written to it, or its
 * line has ended, nobody can be asked for either.
 */
function unwatched(bench: FaultBench): string[] {
  const { simulation, published, plan, armedMs } = bench;
  const lines = switchLines(bench.written);
  const broken: string[] = [];
  if (plan === undefined) return broken;
  for (const [feed, truth] of Object.entries(simulation.truth().feeds)) {
    const source = simulation.benchFile.feeds[feed];
    if (source === undefined || "manual" in source) continue;
    const { supply, channel = 1 } = source;
    const offs = lines.filter((each) => each.instrument === supply && each.channel === channel && each.to === "off");
    const ends = [...offs, ...bench.lineEnds.filter((each) => each.instrument === supply)].map((each) => each.atMs);
    truth.switchings.forEach((on, index) => {
      if (on.output !== "on" || on.why !== "command") return;
      const goneMs = truth.switchings[index + 1]?.atMs ?? simulation.truth().atMs;
      const offMs = Math.min(goneMs, ...ends.filter((each) => each >= on.atMs));
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
