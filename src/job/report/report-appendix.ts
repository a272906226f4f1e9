import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import type { Accuracy } from "../../../shared/files/bench-file.ts";
import type { StoredEvent } from "../../../shared/record/job.ts";
import type { RunEnd } from "../../../shared/record/run-record.ts";
import { sayAmps, sayShare, sayVolts } from "../../../shared/words/amounts.ts";
import { classInSentence } from "../../../shared/words/class-words.ts";
import { nothingLearned } from "../../../shared/words/nothing-learned.ts";
import { figuresInWords } from "../../verdict/figures-in-words.ts";
import { type JobRun, runsOf } from "../store/runs-of.ts";
import { html, type Markup } from "./html-text.ts";
import { PURPOSE_WORDS } from "./owner-words.ts";
import type { ReportInput } from "./report-html.ts";
import { logTable } from "./report-log.ts";
import { lengthText, poweredMs } from "./report-runs.ts";
import { sweepTables } from "./report-sweeps.ts";

/** Everything filed, for whoever wants to check: cold readings, runs with their settings, files, and the log as it stands. */
export function reportAppendix({ record, pictures }: ReportInput): Markup {
  return html`<section class="appendix"><h2>Appendix</h2>
<p>For whoever works on the board next. It lists every reading that counts, and how it was taken.</p>
${runsOf(record.log).map((run) => runText(record.log, run))}
${sweepTables(record.log)}
<h3>Log</h3><p>Times are UTC. A run and a sweep are one line each; the record has every event of them. Nothing in it is ever changed; a correction is shown with the entry it corrects.</p>
${logTable(record.log, pictures)}
<p>Job ${record.job}</p></section>`;
}

function runText(log: readonly StoredEvent[], { header, end }: JobRun): Markup {
  const waived = header.permit.items.filter((item) => item.waived !== null);
  const onMs = poweredMs(log, header.run);
  return html`<h3>${PURPOSE_WORDS[header.purpose]}, ${stamp(header.startedAt)}</h3>
<table><thead><tr><th scope="col">Feed</th><th scope="col">Volts</th><th scope="col">Current limit</th><th scope="col">Over-voltage</th><th scope="col">Leads</th></tr></thead>
<tbody>${header.plan.feeds.map(
    (feed) =>
      html`<tr><th scope="row">${feed.feed}</th><td>${feed.nominalVolts} V</td><td>${feed.nominal.limitAmps} A</td><td>${
        feed.hasOverVoltage ? `${feed.maxVolts} V` : "none in the supply"
      }</td><td>${feed.leadOhms === null ? "not known" : `${feed.leadOhms} Ω`}</td></tr>`,
  )}</tbody></table>
<p>Host ${header.conditions.host}, fans ${header.conditions.fans}, cooler ${header.conditions.cooler}. ${
    header.board === null
      ? "No board file: the built-in defaults were used, which are weak."
      : `Board file: ${header.board.name}.`
  }</p>
<ul>${header.instruments.map(
    (each) =>
      html`<li>${each.name}: ${each.identity}, driver ${each.driver}${each.driverFile === undefined ? "" : ` (${each.driverFile})`}, accuracy ${accuracyText(each.accuracy)}</li>`,
  )}</ul>
${waived.length === 0 ? null : html`<p>Waived, not done:</p><ul>${waived.map((item) => html`<li>${item.asks} (${item.evidence}): ${item.waived?.reason}</li>`)}</ul>`}
${
  end === null
    ? html`<p>The run has no end in the record.</p>`
    : html`<p>Ended ${end.outcome.ended.replaceAll("-", " ")}, output ${end.outcome.output}, reached ${end.outcome.reachedStage}${
        onMs === null ? "" : `, under power for ${lengthText(onMs)}`
      }. ${drawText(end)} ${figures(end.verdict)}</p>
${end.outcome.trip === null ? null : html`<p>The power was cut: ${end.outcome.trip.because}</p>`}
${end.verdict === null ? null : html`<ul>${end.verdict.because.map((each) => html`<li>${each}</li>`)}</ul>`}`
}`;
}

/** "±(0.1 % + 3 mA), volts not stated" for what an instrument's maker promises. */
function accuracyText(accuracy: Accuracy | null): string {
  if (accuracy === null) return "not stated";
  const part = (share: number | undefined, offset: string | null): string =>
    share === undefined && offset === null
      ? "not stated"
      : `±(${[share === undefined ? null : sayShare(share), offset].filter((each) => each !== null).join(" + ")})`;
  const { voltsShare, voltsOffset, ampsShare, ampsOffset } = accuracy;
  return [
    `volts ${part(voltsShare, voltsOffset === undefined ? null : sayVolts(voltsOffset))}`,
    `amps ${part(ampsShare, ampsOffset === undefined ? null : sayAmps(ampsOffset))}`,
  ].join(", ");
}

const drawText = ({ outcome, verdict }: RunEnd): string =>
  nothingLearned(outcome) ?? `Draw: ${verdict == null ? "no verdict" : classInSentence(verdict.class)}.`;

function figures(verdict: DrawVerdict | null | undefined): string {
  if (verdict == null) return "";
  const known = figuresInWords(verdict);
  if (known.length === 0) return "The readings gave no figures.";
  return `Figures${verdict.uncertainty === undefined ? "" : ", with their expanded uncertainty (k = 2)"}: ${known.join(", ")}.`;
}

const stamp = (iso: string): string => iso.slice(0, 16).replace("T", " ");
