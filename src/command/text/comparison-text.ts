import { sayAmount } from "../../../shared/words/amounts.ts";
import { classInWords } from "../../../shared/words/class-words.ts";
import type { RecordComparison } from "../../job/known/compare-in-record.ts";
import { shortId } from "../../job/store/uuid-v7.ts";

const FIGURES = { plateauAmps: ["steady current", "A"], chargeCoulombs: ["charge", "C"] } as const;
const BEYOND = {
  yes: "more than the meters' error",
  no: "within the meters' error",
  unknown: "whether that is more than the meters' error is not known",
} as const;

/** A comparison for a terminal. */
export function comparisonText(compared: RecordComparison): string {
  const figures = compared.figures.map((each) => {
    const [name, unit] = FIGURES[each.figure];
    if (each.a === null || each.b === null || each.difference === null) return `${name}: cannot be compared`;
    return `${name}: ${sayAmount(each.a, unit)}, then ${sayAmount(each.b, unit)}: ${sayAmount(each.difference, unit, each.expanded)}, ${BEYOND[each.beyondMeterError]}`;
  });
  const { classes } = compared;
  return `${[
    `${shortId(compared.a.job)} of ${compared.a.startedAt.slice(0, 10)} and ${shortId(compared.b.job)} of ${compared.b.startedAt.slice(0, 10)}`,
    classes.same
      ? `class: ${classInWords(classes.a)} in both`
      : `class: ${classInWords(classes.a)}, then ${classInWords(classes.b)}`,
    ...figures,
    ...compared.notAlike.map((each) => `different or not stated: ${each}`),
  ].join("\n")}\n`;
}
