import type { JobRecord } from "../../../shared/record/job.ts";
import { sayAmps } from "../../../shared/words/amounts.ts";
import { CLASS_FOR_OWNER, drawForOwner } from "../../../shared/words/class-words.ts";
import { plateauUncertainty } from "../../verdict/amps-uncertainty.ts";
import { compareRuns } from "../known/compare-runs.ts";
import { currentEvents, eventsOf } from "../store/current-events.ts";
import { type JudgedRun, judgedRuns } from "../store/runs-of.ts";
import { html, type Markup } from "./html-text.ts";
import { TRIP_WORDS } from "./owner-words.ts";
import { reportAppendix } from "./report-appendix.ts";
import { hostMarks, hostWords, pastTheRails } from "./report-host.ts";
import { foundAndLeft, lengthText, poweredMs } from "./report-runs.ts";
import { coldFaultsFound, testedItems } from "./tested-items.ts";
import { type TraceLine, tracePicture } from "./trace-picture.ts";

/** The data that the report needs beside the events. */
export interface ReportInput {
  record: JobRecord;
  /** Currents by capture id, for those captures that could be read. */
  traces: ReadonlyMap<string, readonly TraceLine[]>;
  /** Pictures by hash, as data URLs. */
  pictures: ReadonlyMap<string, string>;
}

const STYLE = `body{font:16px/1.45 system-ui,sans-serif;color:#111;background:#fff;max-width:46rem;margin:2rem auto;padding:0 1rem}
h1{font-size:1.5rem;margin:.2rem 0}h2{font-size:1.15rem;margin:1.3rem 0 .4rem}h3{font-size:1rem;margin:1rem 0 .3rem}
table{border-collapse:collapse;width:calc(100% - 1px)}p,ul{margin:.4rem 0}
th,td{border:1px solid #888;padding:.3rem .5rem;text-align:left;vertical-align:top;overflow-wrap:anywhere}th{overflow-wrap:break-word}
figure{margin:.7rem 0}svg{width:100%;font-size:11px}img{max-width:100%;max-height:20cm}
.words{white-space:pre-wrap;overflow-wrap:anywhere}.result{font-weight:bold;white-space:nowrap}
.end{border:2px solid #111;padding:.4rem .8rem;margin:.8rem 0}
@page{size:A4;margin:15mm}
@media print{body{font-size:10.5pt;max-width:none;margin:0;padding:0}h2{break-after:avoid}figure,tr,.end{break-inside:avoid}svg{max-height:4.2cm}
.appendix{break-before:page;font-size:8.5pt}.appendix td,.appendix th{padding:.1rem .3rem}}`;

/**
 * The report of a job for the owner of the board: one page in plain words, then an appendix with everything filed. It is
 * one file that needs nothing else and runs no script; every text in it is escaped. The same record gives the same report.
 */
export function reportHtml(input: ReportInput): string {
  const { record } = input;
  const { found, left, repaired } = foundAndLeft(record.log);
  const words = hostWords(record.log);
  const page = html`<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<title>Report ${record.short}</title><style>${STYLE_MARKUP}</style></head><body>
<h1>${record.title ?? "Board report"}</h1>
${headTable(record)}
${resultText(record)}
${askedFor(record)}
<h2>What was found</h2>
${found === null ? notRun(repaired, record) : foundText(found, record)}
${words.found === null ? null : html`<p>At the host: ${words.found}.</p>`}
${repairText(record)}
${repaired && left === null ? html`<p>No run after the last repair shows the state of the board as it was left.</p>` : null}
${left === null ? null : found === null ? leftText(left, record) : pairText(found, left, input)}
${left === null && found !== null ? onePicture(found, input) : null}
${pastTheRails(record)}
${testedTable(record)}
${incidents(record)}
${reportAppendix(input)}
</body></html>
`;
  return page.text;
}

const STYLE_MARKUP: Markup = Object.assign(html``, { text: STYLE });

const row = (name: string, value: string | null | undefined): Markup | null =>
  value === null || value === undefined || value === ""
    ? null
    : html`<tr><th scope="row">${name}</th><td>${value}</td></tr>`;

function headTable(record: JobRecord): Markup {
  const intake = eventsOf(record.log, "intake").at(-1);
  return html`<table><tbody>${[
    row("Job", record.short),
    row("Board", record.board ?? judgedRuns(record.log).at(-1)?.header.board?.name),
    row("Serial number", intake?.serialNumber),
    row("Owner", intake?.owner),
    row("Taken in", record.createdAt.slice(0, 10)),
    row("Came with", intake?.cameWith),
  ]}</tbody></table>`;
}

function askedFor(record: JobRecord): Markup | null {
  const intake = eventsOf(record.log, "intake").at(-1);
  const words = intake?.ownersWords ?? intake?.symptom;
  return words === undefined ? null : html`<h2>What it came in for</h2><p class="words">${words}</p>`;
}

const RESULTS = {
  passed: "The board passed the tests named below.",
  failed: "The board did not pass. It should not be used.",
  returned: "The board goes back without a repair.",
} as const;

/** The result of the board and the limits of this paper: the owner reads no further than page one. */
function resultText(record: JobRecord): Markup {
  const filed = currentEvents(record.log).findLast(({ event }) => event.kind === "result");
  const said = filed?.event.kind === "result" ? filed.event : null;
  const items = testedItems(record.log);
  const open = items.filter((item) => item.result === "not tested").length;
  return html`<div class="end"><p><strong>Result: ${
    said === null ? "not stated yet. The work on this board is not finished." : RESULTS[said.result]
  }</strong>${said === null ? null : html` (${filed?.recordedAt.slice(0, 10)})`}</p>
${said?.text == null ? null : html`<p class="words">${said.text}</p>`}
<p>${items.length - open} of ${items.length} checks were made; the table below lists them, with their duration and result. What is marked "not tested" may be good or bad.
A draw that is "normal" is a statement about the current only, never that the board works. Peaks shorter than the meter's read interval are not seen.</p></div>`;
}

const notRun = (repaired: boolean, { log }: JobRecord): Markup =>
  html`${coldFound(log)}<p>No run of this job ${repaired ? "before its first repair " : ""}gave a verdict. Nothing can be said about the board under power${repaired ? " as it was found" : ""}.</p>`;

/** The findings without power: often the reason why there was none. */
function coldFound(log: JobRecord["log"]): Markup | null {
  const faults = coldFaultsFound(log);
  return faults.length === 0 ? null : html`<p>Measured without power: ${faults.join("; ")}.</p>`;
}

function foundText(run: JudgedRun, { log }: JobRecord): Markup {
  const { verdict, outcome } = run.end;
  return html`<p>${drawForOwner(verdict)}${verdict.class === "cannot-tell" && outcome.trip?.board !== true ? rivals(run) : null}${cutText(outcome)}</p>
<p>${lastedText(run, log)}</p>${coldFound(log)}`;
}

function cutText({ trip }: JudgedRun["end"]["outcome"]): string {
  if (trip === null || !trip.board) return "";
  return ` The power was cut because ${TRIP_WORDS[trip.rule] ?? "the board behaved as a good board never does"}.`;
}

function lastedText({ header }: JudgedRun, log: JobRecord["log"]): string {
  const onMs = poweredMs(log, header.run);
  const day = header.startedAt.slice(0, 10);
  return onMs === null ? `Tested on ${day}.` : `Tested on ${day}; it was under power for ${lengthText(onMs)}.`;
}

const leftText = (left: JudgedRun, { log }: JobRecord): Markup =>
  html`<h2>As left</h2><p>${drawForOwner(left.end.verdict)}${cutText(left.end.outcome)} ${lastedText(left, log)}</p>`;

const rivals = ({ end }: JudgedRun): string => {
  const [first, second] = end.verdict.candidates.map((each) => CLASS_FOR_OWNER[each.class]);
  if (first === undefined) return "";
  const also = second === undefined ? "" : ` Or: ${second}`;
  return ` Most likely: ${first}${also}`;
};

function repairText(record: JobRecord): Markup | null {
  const repairs = eventsOf(record.log, "repair");
  if (repairs.length === 0) return null;
  const source = { new: "new", donor: "from another board", reused: "reused", unknown: "origin not stated" } as const;
  return html`<h2>What was done</h2>${repairs.map(
    (repair) =>
      html`<p class="words">${repair.text}</p>${
        repair.parts.length === 0
          ? null
          : html`<ul>${repair.parts.map((part) => html`<li>${part.name}${part.place === null ? null : ` at ${part.place}`}: ${source[part.source]}</li>`)}</ul>`
      }`,
  )}`;
}

const amps = (run: JudgedRun): string => {
  const { plateauAmps } = run.end.verdict.features;
  if (plateauAmps === null)
    return run.end.outcome.trip?.board === true ? "none: the power was cut first" : "cannot be known";
  const u = plateauUncertainty(run.header, run.end.verdict);
  return u === null ? `${sayAmps(plateauAmps)} (meter error not stated)` : sayAmps(plateauAmps, 2 * u);
};

const onTime = ({ header }: JudgedRun, { record }: ReportInput): string => {
  const onMs = poweredMs(record.log, header.run);
  return onMs === null ? "not known" : lengthText(onMs);
};

function pairText(found: JudgedRun, left: JudgedRun, input: ReportInput): Markup {
  const compared = compareRuns(found, left);
  const plateau = compared.figures.find((each) => each.figure === "plateauAmps");
  const isCompared = [found, left].every((run) => run.end.verdict.features.plateauAmps !== null);
  const difference = {
    yes: "The difference in current is larger than the meter's error.",
    no: "The difference in current is not larger than the meter's error.",
    unknown: "It is not known whether the difference in current is larger than the meter's error.",
  }[plateau?.beyondMeterError ?? "unknown"];
  return html`<h2>As found and as left</h2>
<table><thead><tr><th></th><th scope="col">As found, ${found.header.startedAt.slice(0, 10)}</th><th scope="col">As left, ${left.header.startedAt.slice(0, 10)}</th></tr></thead>
<tbody><tr><th scope="row">Draw</th><td>${drawForOwner(found.end.verdict)}</td><td>${drawForOwner(left.end.verdict)}</td></tr>
<tr><th scope="row">Under power for</th><td>${onTime(found, input)}</td><td>${onTime(left, input)}</td></tr>
<tr><th scope="row">Steady current</th><td>${amps(found)}</td><td>${amps(left)}</td></tr>
${hostRow(input.record)}</tbody></table>
<p>${isCompared ? `${difference} ` : null}The ± is the expanded uncertainty (k = 2, about 95 %) from the stated accuracy of the instruments.</p>
${compared.notAlike.length === 0 ? null : html`<p>Different or not stated in the two runs: ${compared.notAlike.join("; ")}.</p>`}
${pictures([found, left], input)}`;
}

function hostRow({ log }: JobRecord): Markup | null {
  const { found, left } = hostWords(log);
  if (found === null && left === null) return null;
  return html`<tr><th scope="row">At the host</th><td>${found ?? "not checked"}</td><td>${left ?? "not checked"}</td></tr>`;
}

const onePicture = (run: JudgedRun, input: ReportInput): Markup =>
  html`<p>Steady current: ${amps(run)}. The ± is the expanded uncertainty (k = 2) from the stated accuracy of the instruments.</p>${pictures([run], input)}`;

function pictures(runs: readonly JudgedRun[], { traces, record }: ReportInput): Markup[] {
  const known = runs.flatMap((run) => {
    const lines = traces.get(run.header.capture);
    return lines === undefined || lines.length === 0 ? [] : [{ run, lines }];
  });
  const all = known.flatMap(({ lines }) => lines);
  const mostAmps = largest(all.flatMap((line) => line.amps));
  const longestMs = largest(all.flatMap((line) => line.atMs));
  return known.map(({ run, lines }) =>
    tracePicture(`Current, ${run === runs[0] ? "as found" : "as left"}, ${run.header.startedAt.slice(0, 10)}`, lines, {
      mostAmps,
      longestMs,
      marks: hostMarks(record.log, run.header, longestMs),
    }),
  );
}

/** The greatest of the numbers, passing over what is none; 0 where there are none above it. */
function largest(values: readonly number[]): number {
  let most = 0;
  for (const each of values) if (each > most) most = each;
  return most;
}

function testedTable(record: JobRecord): Markup {
  const items = testedItems(record.log);
  const tested = items.filter((item) => item.result !== "not tested");
  const rest = items.filter((item) => item.result === "not tested");
  const table = html`<table><thead><tr><th scope="col">Check</th><th scope="col">Result</th><th scope="col">Because</th></tr></thead>
<tbody>${tested.map(
    (item) => html`<tr><td>${item.what}</td><td class="result">${item.result}</td><td>${item.because}</td></tr>`,
  )}</tbody></table>`;
  return html`<h2>What was tested</h2>${tested.length === 0 ? null : table}
<p>Not tested:</p><ul>${rest.map((item) => html`<li>${item.what} (${item.because})</li>`)}</ul>`;
}

function incidents(record: JobRecord): Markup | null {
  const all = currentEvents(record.log).flatMap(({ event, recordedAt }) =>
    event.kind === "incident" ? [{ event, recordedAt }] : [],
  );
  if (all.length === 0) return null;
  return html`<h2>What went wrong at the bench</h2><ul>${all.map(
    ({ event, recordedAt }) =>
      html`<li>${recordedAt.slice(0, 16).replace("T", " ")}: ${event.text} (output afterwards: ${event.output})</li>`,
  )}</ul>`;
}
