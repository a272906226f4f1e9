import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import type { StoredEvent } from "../../../shared/job.ts";
import { nothingLearned } from "../../../shared/nothing-learned.ts";
import type { RunEnd } from "../../../shared/run-record.ts";
import { figuresInWords } from "../../verdict/figures-in-words.ts";
import { type JobRun, runsOf } from "../store/runs-of.ts";
import { cyclesText, hostLookText, hostTestText, startOrderText } from "./host-text.ts";
import { html, type Markup } from "./html-text.ts";
import type { ReportInput } from "./report-html.ts";
import { sweepTables } from "./report-sweeps.ts";

/** Everything filed, for whoever wants to check: cold readings, runs with their settings, files, and the log as it stands. */
export function reportAppendix({ record, pictures, cautions }: ReportInput): Markup {
  return html`<section class="appendix"><h2>Appendix</h2>
<h3>Before it is powered up again</h3><ul>${cautions.map((each) => html`<li>${each}</li>`)}</ul>
${runsOf(record.log).map(runText)}
${sweepTables(record.log)}
<h3>Log</h3><p>Times are UTC. Nothing in it is ever changed; a correction stands beside what it corrects.</p>
<table><tbody>${record.log.map((stored) => logRow(stored, pictures))}</tbody></table>
<p>Job ${record.job}</p></section>`;
}

function runText({ header, end }: JobRun): Markup {
  const waived = header.permit.items.filter((item) => item.waived !== null);
  return html`<h3>${header.purpose}, ${stamp(header.startedAt)}</h3>
<table><thead><tr><th scope="col">Feed</th><th scope="col">Volts</th><th scope="col">Current limit</th><th scope="col">Over-voltage</th><th scope="col">Leads</th></tr></thead>
<tbody>${header.plan.feeds.map(
    (feed) =>
      html`<tr><th scope="row">${feed.feed}</th><td>${feed.nominalVolts} V</td><td>${feed.nominal.limitAmps} A</td><td>${
        feed.hasOverVoltage ? `${feed.maxVolts} V` : "none in the supply"
      }</td><td>${feed.leadOhms === null ? "not known" : `${feed.leadOhms} Ω`}</td></tr>`,
  )}</tbody></table>
<p>Host ${header.conditions.host}, fans ${header.conditions.fans}, cooler ${header.conditions.cooler}. ${
    header.board === null ? "No board file: shipped defaults, which are weak." : `Board file: ${header.board.name}.`
  }</p>
<ul>${header.instruments.map(
    (each) =>
      html`<li>${each.name}: ${each.identity}, driver ${each.driver}${each.driverFile === undefined ? "" : ` (${each.driverFile})`}, accuracy ${
        each.accuracy === null ? "not stated" : JSON.stringify(each.accuracy)
      }, answers within ${each.roundTrip.p99Ms === null ? "a time not measured" : `${each.roundTrip.p99Ms.toFixed(1)} ms (p99)`}</li>`,
  )}</ul>
${header.scheduling === undefined ? null : html`<p>The process that cuts ran at ${header.scheduling}.</p>`}
${waived.length === 0 ? null : html`<p>Waived, not done:</p><ul>${waived.map((item) => html`<li>${item.asks} (${item.evidence}): ${item.waived?.reason}</li>`)}</ul>`}
${
  end === null
    ? html`<p>The run has no end in the record.</p>`
    : html`<p>Ended ${end.outcome.ended}, output ${end.outcome.output}, reached ${end.outcome.reachedStage}. ${drawText(end)} ${figures(
        end.verdict,
      )}</p>`
}`;
}

const drawText = ({ outcome, verdict }: RunEnd): string =>
  nothingLearned(outcome) ?? `Draw: ${verdict?.class ?? "not judged"}.`;

function figures(verdict: DrawVerdict | null | undefined): string {
  if (verdict == null) return "";
  const known = figuresInWords(verdict);
  if (known.length === 0) return "No figure could be drawn from the readings.";
  return `Figures${verdict.uncertainty === undefined ? "" : ", with their expanded uncertainty (k = 2)"}: ${known.join(", ")}.`;
}

const stamp = (iso: string): string => iso.slice(0, 19).replace("T", " ");

function logRow({ seq, recordedAt, event }: StoredEvent, pictures: ReadonlyMap<string, string>): Markup {
  const said = event.kind === "correction" ? event.event : event;
  const picture = said.kind === "attachment" ? pictures.get(said.sha256) : undefined;
  return html`<tr><td>${seq}</td><td>${stamp(recordedAt)}</td><td>${event.kind}</td><td class="words">${eventText(event)}${
    picture === undefined || said.kind !== "attachment"
      ? null
      : html`<br><img src="${picture}" alt="${said.caption ?? said.name}">`
  }</td></tr>`;
}

/** An event in a line or a few, for people. */
export function eventText(event: StoredEvent["event"]): string {
  switch (event.kind) {
    case "opened":
      return [event.title, event.board].filter((each) => each !== null).join(", ") || "opened";
    case "intake":
      return Object.entries(event)
        .filter(([key]) => key !== "kind")
        .map(
          ([key, value]) =>
            `${INTAKE_WORDS[key] ?? key}: ${typeof value === "boolean" ? (value ? "yes" : "no") : value}`,
        )
        .join("\n");
    case "note":
      return event.text;
    case "attachment":
      return `${event.name} (${event.mediaType}, ${event.bytes} bytes)${event.caption === null ? "" : `: ${event.caption}`}`;
    case "lead-null":
      return `leads nulled at ${event.ohms} Ω`;
    case "cold-readings":
      return Object.entries(event.ohms)
        .map(([point, ohms]) => `${point} ${ohms === "open" ? "open" : `${ohms} Ω`}`)
        .concat(event.by === "hand" ? "typed in by hand" : "read from the meter")
        .join(", ");
    case "sweep-started":
      return `${event.cold ? "cold sweep" : "sweep under power"} of ${event.points.length} points of ${event.board}, ${event.meter === null ? "values typed in" : `read by ${event.meter.identity}`}`;
    case "sweep-rail":
      return `${event.rail.verdict}: ${event.rail.because.join("; ")}`;
    case "sweep-ended":
      return [`${event.ended}`, ...event.because, ...event.neverPower].join("; ");
    case "run-started":
      return `${event.header.purpose} of ${event.header.plan.feeds.map((feed) => feed.feed).join(", ")}`;
    case "run-events":
      return `${event.events.length} events of the run`;
    case "run-ended":
      return [
        `${event.end.outcome.ended}, output ${event.end.outcome.output}, ${event.end.verdict?.class ?? nothingLearned(event.end.outcome) ?? "not judged"}`,
        ...(event.end.verdict === null ? [] : figuresInWords(event.end.verdict)),
      ].join(", ");
    case "repair":
      return [event.text, ...event.parts.map((part) => `${part.name} ${part.place ?? ""} (${part.source})`)].join("\n");
    case "result":
      return event.text === null ? event.result : `${event.result}: ${event.text}`;
    case "stage":
      return event.text === null ? event.stage : `${event.stage}: ${event.text}`;
    case "report-made":
      return `${event.name}, SHA-256 ${event.sha256}`;
    case "host-look":
      return hostLookText(event);
    case "test":
      return hostTestText(event.test);
    case "start-order":
      return startOrderText(event.result);
    case "firmware":
      return [`firmware image: ${event.verdict.word}`, ...event.verdict.because].join("\n");
    case "cycles":
      return cyclesText(event.result);
    case "answer":
      return `${event.to}: ${event.answer}`;
    case "incident":
      return `${event.text} (output ${event.output})`;
    case "correction":
      return `${event.because}\nIt should read: ${eventText(event.event)}`;
  }
}

const INTAKE_WORDS: Record<string, string> = {
  owner: "Owner",
  ownersWords: "In the owner's words",
  symptom: "Symptom",
  since: "Since",
  tried: "Tried before",
  liquid: "Liquid",
  dropped: "Dropped",
  repairedBefore: "Repaired before",
  serialNumber: "Serial number",
  cameWith: "Came with",
  approvedUpTo: "Approved up to",
};
