import type { StoredEvent } from "../../../shared/record/job.ts";
import type { SweepRail } from "../../../shared/sweep.ts";
import { sayAmount, sayOhms, saySpan } from "../../../shared/words/amounts.ts";
import { railWord } from "../../../shared/words/class-words.ts";
import { railAmpsText } from "../../verdict/sweep/part-amps.ts";
import { eventsOf } from "../store/current-events.ts";
import { html, type Markup } from "./html-text.ts";

/** A table for each sweep: what every point read last, how well, what belongs there, and the verdict. */
export function sweepTables(log: readonly StoredEvent[]): Markup[] {
  const ends = new Map(eventsOf(log, "sweep-ended").map((each) => [each.sweep, each]));
  const values = eventsOf(log, "sweep-rail");
  return eventsOf(log, "sweep-started").map((started) => {
    const last = new Map<string, SweepRail>();
    for (const { sweep, rail } of values) if (sweep === started.sweep) last.set(`${rail.quantity} ${rail.rail}`, rail);
    const end = ends.get(started.sweep);
    return html`<h3>${started.cold ? "Cold sweep" : "Sweep under power"} of ${started.board}</h3>
<p>${started.meter === null ? "Values typed in by hand." : html`Read by ${started.meter.identity}.`} The ± is the expanded uncertainty (k = 2).
${end === undefined ? "The sweep has no end in the record." : `Ended: ${[end.ended, ...end.because].join("; ")}.`}</p>
<table><thead><tr><th scope="col">Point</th><th scope="col">Reads</th><th scope="col">Should read</th><th scope="col">Verdict</th></tr></thead>
<tbody>${[...last.values()].map(
      (rail) =>
        html`<tr><th scope="row">${rail.rail}</th><td>${readText(rail)}</td><td>${limitsText(rail)}</td><td>${railWord(rail)}${
          rail.neverPower === null ? null : html`<br>${rail.neverPower}`
        }</td></tr>`,
    )}</tbody></table>
${[...(end?.alike?.because ?? []), ...(end?.railAmps ?? []).map((each) => `${railAmpsText(each)}.`)].map((said) => html`<p>${said}</p>`)}`;
  });
}

const unitOf = ({ quantity }: SweepRail): string => (quantity === "ohms" ? "Ω" : "V");

function readText(rail: SweepRail): string {
  const value = rail.volts ?? rail.ohms ?? rail.diodeVolts ?? null;
  if (value === null) return "not measured";
  if (value === "open") return "open";
  if (rail.mostOhms !== undefined) return `at least ${sayOhms(value)}, still rising`;
  const expanded = rail.expandedVolts ?? rail.expandedOhms ?? null;
  const amps = rail.across?.amps ?? null;
  const through = amps === null ? "" : `: ${sayAmount(amps, "A", rail.across?.expandedAmps ?? null)}`;
  return `${sayAmount(value, unitOf(rail), expanded)}${through}`;
}

function limitsText(rail: SweepRail): string {
  if (rail.group !== undefined) return "as the others";
  if (rail.across !== undefined) return `current of ${rail.across.rail}`;
  return saySpan(rail.limits, unitOf(rail)) ?? "not known";
}
