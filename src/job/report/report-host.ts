import type { JobEvent, JobEventOf, JobRecord, StoredEvent } from "../../../shared/record/job.ts";
import type { RunHeader } from "../../../shared/record/run-record.ts";
import { sinceRepair } from "../known/since-repair.ts";
import { currentEvents, eventsOf } from "../store/current-events.ts";
import { HOST_WORDS } from "./host-text.ts";
import { html, type Markup } from "./html-text.ts";
import { startPicture } from "./start-picture.ts";

/** The host's word before the first repair and after the last one; null where the board was not looked at then. */
export function hostWords(log: readonly StoredEvent[]): { found: string | null; left: string | null } {
  const events = currentEvents(log).map((each) => each.event);
  const first = events.findIndex((event) => event.kind === "repair");
  const last = events.findLastIndex((event) => event.kind === "repair");
  const wordIn = (part: readonly JobEvent[]): string | null => {
    const look = part.filter((event) => event.kind === "host-look").findLast((event) => event.of === "board");
    return look === undefined ? null : HOST_WORDS[look.verdict.word];
  };
  return {
    found: wordIn(first < 0 ? events : events.slice(0, first)),
    left: last < 0 ? null : wordIn(sinceRepair(log)),
  };
}

/** The measurements past the rails: starts from traces, and the account of a firmware image. */
export function pastTheRails({ log }: JobRecord): Markup | null {
  const starts = eventsOf(log, "start-order");
  const images = eventsOf(log, "firmware");
  if (starts.length === 0 && images.length === 0) return null;
  const shown = [starts[0], ...(starts.length > 1 ? [starts.at(-1)] : [])].filter((each) => each !== undefined);
  return html`${shown.length === 0 ? null : html`<h2>The start, in order</h2>`}${shown.map(({ result }) => startPicture(result))}
${images.length === 0 ? null : html`<h2>Firmware</h2>`}${images.map(({ verdict }) => html`<p>Firmware image: ${verdict.word.replaceAll("-", " ")}. ${verdict.because.join(" ")}</p>`)}`;
}

/** The moments at which the host lost the board during a run: milliseconds of the run, and what to write there. */
export function hostMarks(
  log: readonly StoredEvent[],
  run: RunHeader,
  endedAtMs: number,
): { atMs: number; text: string }[] {
  const startMs = Date.parse(run.startedAt);
  return eventsOf(log, "host-look")
    .filter((each) => each.of === "board")
    .flatMap((each) => markedChanges(each))
    .map(({ at, aheadMs, text }) => ({ atMs: Date.parse(at) - aheadMs - startMs, text }))
    .filter(({ atMs }) => atMs >= 0 && atMs <= endedAtMs);
}

function markedChanges({ changes, clockAheadMs, verdict }: JobEventOf<"host-look">): {
  at: string;
  aheadMs: number;
  text: string;
}[] {
  const { device } = verdict;
  const slot = device === null ? null : device.slice(0, device.lastIndexOf("."));
  return changes
    .filter(
      ({ what, address }) => ["gone", "appeared", "link"].includes(what) && slot !== null && address.startsWith(slot),
    )
    .map(({ at, what, address, to }) => ({
      at,
      aheadMs: clockAheadMs ?? 0,
      text: what === "gone" ? `${address} gone` : what === "appeared" ? `${address} back` : `link ${to ?? "?"}`,
    }));
}
