import { classInWords } from "../../../shared/words/class-words.ts";
import { counted } from "../../../shared/words/counted.ts";
import type { LiveBench } from "../../shop/live-watcher.ts";
import type { CheckedBench, CheckedShop } from "./check-shop.ts";

const seconds = (ms: number): string => (ms < 10_000 ? `${(ms / 1000).toFixed(1)} s` : `${Math.round(ms / 1000)} s`);

/** The findings of `shop check`, for a person. */
export function shopText({ shop, bench, record, live, benches }: CheckedShop): string {
  const lines = [`Shop ${shop}, this bench is ${bench}.`];
  if (record === null) lines.push("Database: shop.json names none.");
  else {
    lines.push(`Database: ${record.reachable ? "reachable" : `not reachable, ${record.because}`}.`);
    lines.push(
      record.waiting === 0
        ? "Nothing waits to be sent."
        : `${record.waiting} events and files wait to be sent${record.since === null ? "" : `, the oldest event since ${record.since}`}.`,
    );
  }
  if (live === null) lines.push("Live: shop.json names no broker.");
  else {
    lines.push(`Live: ${live.reachable ? "reachable" : `not reachable, ${live.because}`}.`);
    if (live.ignored > 0)
      lines.push(
        `${counted(live.ignored, "message")} on the broker did not come from a bench and ${live.ignored === 1 ? "is" : "are"} not shown.`,
      );
  }
  return `${[...lines, ...benches.map(benchLine)].join("\n")}\n`;
}

function benchLine({ bench, inRecord, events, lastEventAt, live }: CheckedBench): string {
  const filed = inRecord
    ? `${counted(events, "event")}${lastEventAt === null ? "" : `, the last at ${lastEventAt.slice(0, 19).replace("T", " ")} UTC`}`
    : "unknown to the database";
  if (live === null) return `  ${bench}: ${filed}; no live state`;
  if (live.is === "gone") return `  ${bench}: ${filed}; not connected now`;
  return `  ${bench}: ${filed}; output ${live.output}, reported ${seconds(live.ageMs ?? 0)} ago`;
}

/** A bench as `shop watch` shows it, on one line. */
export function liveLine({ bench, state, feeds, verdict }: LiveBench): string {
  if (state === null) return `${bench}: has not reported its state`;
  if (state.is === "gone") return `${bench}: not connected now`;
  const doing = state.stage === null ? "no run" : `${state.stage}, ${state.waitingFor ?? "running"}`;
  const figures = (feeds?.feeds ?? [])
    .filter(({ volts, amps }) => volts !== null || amps !== null)
    .map(({ feed, volts, amps }) => `${feed} ${volts?.toFixed(2) ?? "?"} V ${amps?.toFixed(3) ?? "?"} A`);
  const parts = [`output ${state.output}`, doing, ...figures];
  if (state.job !== null) parts.push(`job ${state.job.slice(-8)}`);
  if (verdict !== null) parts.push(`last draw ${classInWords(verdict.class)}`);
  return `${bench}: ${parts.join("; ")} (${seconds(state.ageMs ?? 0)} old)`;
}
