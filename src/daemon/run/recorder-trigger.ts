import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { Plan } from "../../../shared/plan.ts";

/** Half of nominal: above every look at low voltage, and passed once on the way up. */
const SHARE = 0.5;

/**
 * The trigger of the recorder's record: the bench file's, else the first channel that reads volts of a feed, or of a rail of the
 * board, at half of its nominal. Null where the bench has no recorder, or nothing says it.
 */
export function recorderTrigger(
  bench: BenchFile,
  board: BoardFile | null,
  plan: Plan,
): { channel: number; level: number } | null {
  const record = Object.values(bench.instruments).find((each) => each.kind === "recorder")?.record;
  if (record === undefined) return null;
  if (record.trigger !== undefined) return record.trigger;
  const nominal = (point: string): number | undefined =>
    plan.feeds.find((each) => each.feed === point)?.nominal.volts ?? board?.rails[point]?.volts;
  const channels = Object.entries(record.channels).filter(([, { reads }]) => reads === "volts");
  const isFeed = (point: string): boolean => plan.feeds.some((each) => each.feed === point);
  // A feed's edge is seen by the supply's readings as well: the two times can be put together.
  const [channel, of] = channels.find(([, each]) => isFeed(each.point)) ?? channels[0] ?? [];
  const volts = of === undefined ? undefined : nominal(of.point);
  return channel === undefined || volts === undefined ? null : { channel: Number(channel), level: SHARE * volts };
}
