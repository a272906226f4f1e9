import type { Diagnosis } from "../../../shared/record/diagnosis.ts";

const SHOWN = 5;

const percent = (share: number): string => `${(share * 100).toFixed(share >= 0.1 ? 0 : 1)} %`;

/** A diagnosis as a person reads it on a terminal: likely faults with why, then what to measure next. */
export function diagnosisText(diagnosis: Diagnosis): string {
  const lines = ["Likely faults:"];
  diagnosis.faults.slice(0, SHOWN).forEach((fault, rank) => {
    const also = fault.also.map(({ element, kind }) => ` and ${element} ${kind}`).join("");
    lines.push(`  ${fault.element} ${fault.kind}${also}: ${percent(fault.probability)}`);
    const said = rank === 0 ? fault.because : fault.because.slice(0, 2);
    lines.push(...said.map((sentence) => `  - ${sentence}`));
  });
  if (diagnosis.caution !== undefined) lines.push(diagnosis.caution);
  lines.push("Measure next:");
  if (diagnosis.next.length === 0) lines.push("  No further measurement is worth its minutes.");
  diagnosis.next.slice(0, SHOWN).forEach((next, rank) => {
    lines.push(`  ${next.measure}${next.energises ? " (powered)" : ""}: ${next.ask}`);
    if (rank === 0) lines.push(`  - ${next.because}`);
  });
  if (diagnosis.held !== null) lines.push(diagnosis.held);
  lines.push(...diagnosis.notes);
  return lines.join("\n");
}
