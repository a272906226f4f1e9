import type { StoredEvent } from "../../../shared/record/job.ts";
import { sayMs } from "../../../shared/words/amounts.ts";
import { classInSentence } from "../../../shared/words/class-words.ts";
import { type JobRun, runsOf } from "../store/runs-of.ts";
import { ENDED_WORDS } from "./ended-words.ts";
import { eventText } from "./event-text.ts";
import { html, type Markup } from "./html-text.ts";
import { PURPOSE_WORDS } from "./owner-words.ts";
import { lengthText, poweredMs } from "./report-runs.ts";

/** One row of the log: a run and a sweep are one row each, however many events they have. */
interface LogRow {
  recordedAt: string;
  kind: string;
  text: string;
  picture: { src: string; alt: string } | null;
}

/** The log of a job as a table in the order it was filed. */
export function logTable(log: readonly StoredEvent[], pictures: ReadonlyMap<string, string>): Markup {
  return html`<table><tbody>${rowsOf(log, pictures).map(
    ({ recordedAt, kind, text, picture }) =>
      html`<tr><td>${recordedAt.slice(0, 16).replace("T", " ")}</td><td>${kind}</td><td class="words">${text}${
        picture === null ? null : html`<br><img src="${picture.src}" alt="${picture.alt}">`
      }</td></tr>`,
  )}</tbody></table>`;
}

function rowsOf(log: readonly StoredEvent[], pictures: ReadonlyMap<string, string>): LogRow[] {
  const runs = new Map(runsOf(log).map((run) => [run.header.run, run]));
  return log.flatMap(({ recordedAt, event }): LogRow[] => {
    const row = (kind: string, text: string): LogRow => ({ recordedAt, kind, text, picture: null });
    switch (event.kind) {
      case "run-started": {
        const run = runs.get(event.header.run);
        return [row("run", run === undefined ? eventText(event) : runLine(log, run))];
      }
      // The events of a run or a sweep are told in the row of its beginning, but for a person's actions meanwhile.
      case "run-events":
        return event.events.flatMap((each) =>
          each.event === "mark" ? [row("done to it", `${each.text}, ${sayMs(each.atMs)} after the run began`)] : [],
        );
      case "run-ended":
      case "sweep-rail":
      case "sweep-ended":
        return [];
      case "sweep-started":
        return [row("sweep", sweepLine(log, event.sweep, eventText(event)))];
      default: {
        const said = event.kind === "correction" ? event.event : event;
        const src = said.kind === "attachment" ? pictures.get(said.sha256) : undefined;
        const picture =
          src === undefined || said.kind !== "attachment" ? null : { src, alt: said.caption ?? said.name };
        return [{ ...row(event.kind.replaceAll("-", " "), eventText(event)), picture }];
      }
    }
  });
}

function runLine(log: readonly StoredEvent[], { header, end }: JobRun): string {
  const feeds = header.plan.feeds.map((feed) => feed.feed).join(", ");
  const onMs = poweredMs(log, header.run);
  const lasted = onMs === null ? "never on" : `on for ${lengthText(onMs)}`;
  if (end === null) return `${PURPOSE_WORDS[header.purpose]} of ${feeds}, ${lasted}: no end in the record`;
  const { ended, output } = end.outcome;
  const draw = end.verdict?.class ?? null;
  return `${PURPOSE_WORDS[header.purpose]} of ${feeds}, ${lasted}: ${ENDED_WORDS[ended]}${draw === null ? "" : `, draw: ${classInSentence(draw)}`}, output ${output}`;
}

function sweepLine(log: readonly StoredEvent[], sweep: string, began: string): string {
  const verdicts = new Map<string, string>();
  for (const { event } of log)
    if (event.kind === "sweep-rail" && event.sweep === sweep)
      verdicts.set(`${event.rail.quantity} ${event.rail.rail}`, event.rail.verdict);
  const counts = new Map<string, number>();
  for (const verdict of verdicts.values()) counts.set(verdict, (counts.get(verdict) ?? 0) + 1);
  return [began, ...[...counts].map(([verdict, count]) => `${count} ${verdict.replaceAll("-", " ")}`)].join(", ");
}
