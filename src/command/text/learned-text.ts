import type { LearnedValue } from "../../job/known/learned-values.ts";
import { figureText } from "../../job/report/trace-picture.ts";

const UNITS = { volts: "V", ohms: "Ω", diodeVolts: "V in diode mode" } as const;

/** What boards that passed read, a line each, for a terminal; no line where none did. */
export function learnedLines(board: string, values: readonly LearnedValue[]): string[] {
  if (values.length === 0) return [];
  return [
    `boards of kind ${board} that passed read (beside the board file's values, not in their place):`,
    ...values.map(({ point, quantity, boards, median, least, most }) => {
      const span = boards === 1 ? "one board" : `${boards} boards, ${figureText(least)} to ${figureText(most)}`;
      return `  ${point}: ${figureText(median)} ${UNITS[quantity]} (${span})`;
    }),
  ];
}
