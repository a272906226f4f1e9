import type { BoardFile } from "../../shared/files/board-file.ts";
import type { MeterReadSetting } from "../../shared/meter-reading.ts";
import type { SweepPlan, SweepPoint } from "../../shared/sweep.ts";
import { chooseMeterSetting } from "../analysis/meter-setting.ts";
import { visitOrder } from "./visit-order.ts";

/** Room above the highest feed in the range a rail is read in that was too high for its own. */
const WIDE_ROOM = 1.2;

/** The points of a sweep in the order they are visited. */
export function sweepPoints(plan: SweepPlan): SweepPoint[] {
  const points =
    plan.group !== undefined ? groupPoints(plan, plan.group) : plan.cold ? coldPoints(plan) : hotPoints(plan);
  // The points that the scanner reaches are read first: nobody has to be there for it.
  return [...points.filter(isScanned), ...points.filter((each) => !isScanned(each))];
}

const isScanned = (point: SweepPoint): boolean => point.setting.channel !== null;

/** Every rail and signal by its volts; then, where asked for, the volts over each part of known ohms. */
function hotPoints(plan: SweepPlan): SweepPoint[] {
  const { rails, across = {} } = plan.board;
  const points = visitOrder(plan.board).map((rail) =>
    pointOf(plan, {
      rail,
      kind: rails[rail]?.signal === true ? "signal" : "rail",
      quantity: "volts",
      point: rails[rail]?.point ?? rail,
    }),
  );
  if (plan.across !== true) return points;
  const over = Object.entries(across).map(([part, { point }]) =>
    pointOf(plan, { rail: part, kind: "part", quantity: "volts", point: point ?? `both ends of ${part}` }),
  );
  return [...points, ...over];
}

/** The points of one group in the board file's order. */
function groupPoints(plan: SweepPlan, group: string): SweepPoint[] {
  const quantity = plan.diode ? "diode" : "ohms";
  return (plan.board.groups?.[group] ?? []).map((name) => ({
    ...pointOf(plan, {
      rail: name,
      kind: "grouped",
      quantity,
      point: plan.diode ? `black on ${name}, red on ground` : name,
    }),
    group,
  }));
}

/**
 * Each feed followed by what lies at its side of the tree, then pairs, which take both probes; last, where asked for, the
 * diode mode of the points that have a value for it.
 */
function coldPoints(plan: SweepPlan): SweepPoint[] {
  const { board } = plan;
  const order = visitOrder(board);
  const rails = order.filter((rail) => board.rails[rail]?.signal !== true);
  const planes = new Map<string, string[]>();
  for (const rail of rails) {
    const { needs = [] } = board.rails[rail] ?? {};
    const feed = needs.length === 1 ? needs[0] : undefined;
    if (feed?.startsWith("feed:")) planes.set(feed.slice(5), [...(planes.get(feed.slice(5)) ?? []), rail]);
  }
  const behindFeeds = new Set([...planes.values()].flat());
  const ohms = (rail: string, kind: "rail" | "feed"): SweepPoint =>
    pointOf(plan, {
      rail,
      kind,
      quantity: "ohms",
      point: kind === "feed" ? `${rail} input, at the connector` : (board.rails[rail]?.point ?? rail),
    });
  const pairs = Object.keys(board.coldPairs).sort((a, b) =>
    (a.split(":")[1] ?? "").localeCompare(b.split(":")[1] ?? ""),
  );
  return [
    ...Object.keys(board.feeds).flatMap((feed) => [
      ohms(feed, "feed"),
      ...(planes.get(feed) ?? []).map((rail) => ohms(rail, "rail")),
    ]),
    ...rails.filter((rail) => !behindFeeds.has(rail)).map((rail) => ohms(rail, "rail")),
    ...pairs.map((pair) =>
      pointOf(plan, { rail: pair, kind: "pair", quantity: "ohms", point: pairWords(board, pair) }),
    ),
    ...(plan.diode
      ? order
          .filter((rail) => board.rails[rail]?.diodeVolts !== undefined)
          .map((rail) =>
            pointOf(plan, {
              rail,
              kind: board.rails[rail]?.signal === true ? "signal" : "rail",
              quantity: "diode",
              point: `black on ${board.rails[rail]?.point ?? rail}, red on ground`,
            }),
          )
      : []),
  ];
}

function pairWords(board: BoardFile, pair: string): string {
  const [from = "", to = ""] = pair
    .split(":")
    .map((end) => (board.rails[end]?.point === undefined ? end : `${end} (${board.rails[end].point})`));
  return `red on ${from}, black on ${to}`;
}

function pointOf(
  plan: SweepPlan,
  { rail, kind, quantity, point }: Pick<SweepPoint, "rail" | "kind" | "quantity" | "point">,
): SweepPoint {
  const limits = plan.limitsOf(rail, quantity);
  const measure = quantity === "ohms" && plan.fourWire ? "fourWireOhms" : quantity;
  const mayMeetVolts = highestVolts(plan.board);
  const { rangeUpTo, powerLineCycles } = chooseMeterSetting({
    function: measure,
    low: limits.low,
    high: limits.high,
    mayMeetVolts,
    ranges: plan.rangesOf(measure),
  });
  const setting: MeterReadSetting = {
    function: measure,
    rangeUpTo,
    powerLineCycles,
    channel: plan.channelOf(rail),
    leadNullOhms: quantity === "ohms" && !plan.fourWire ? plan.leadNullOhms : null,
  };
  const mostFarads = plan.board.feeds[rail]?.inputFarads?.[1];
  const isNarrow = quantity === "volts" && rangeUpTo !== null && rangeUpTo < mayMeetVolts;
  return {
    rail,
    kind,
    point,
    quantity,
    // A diode drop is read red on ground; ohms and volts red on the point (common practice, no source).
    polarity: quantity === "diode" ? "black-on-point" : "red-on-point",
    ...limits,
    ...(mostFarads === undefined ? {} : { mostFarads }),
    setting,
    wideSetting: isNarrow ? { ...setting, rangeUpTo: mayMeetVolts * WIDE_ROOM } : null,
  };
}

/** The highest volts a probe can meet on this board: a shorted switch puts a feed on any rail. */
const highestVolts = (board: BoardFile): number =>
  Math.max(
    ...Object.values(board.feeds).map((feed) => feed.maxVolts ?? feed.nominalVolts),
    ...Object.values(board.rails).map((rail) => rail.volts),
  );
