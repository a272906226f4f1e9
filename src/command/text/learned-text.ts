import type { BoardKnowledge } from "../../../shared/files/board-knowledge.ts";
import { sayAmount } from "../../../shared/words/amounts.ts";
import type { LearnedValue } from "../../job/known/learned-values.ts";
import { visibleLine } from "../../job/report/visible-text.ts";

const UNITS = { volts: "V", ohms: "Ω", diodeVolts: "V" } as const;

/** The readings of boards that passed, a line each, for a terminal; no line where none did. */
export function learnedLines(board: string, values: readonly LearnedValue[]): string[] {
  if (values.length === 0) return [];
  return [
    `readings of boards of kind ${board} that passed (shown next to the board file's values; they do not replace them):`,
    ...values.map(({ point, quantity, boards, median, least, most }) => {
      const say = (value: number) => sayAmount(value, UNITS[quantity]);
      const span = boards === 1 ? "one board" : `${boards} boards, ${say(least)} to ${say(most)}`;
      return `  ${point}: ${say(median)}${quantity === "diodeVolts" ? " in diode mode" : ""} (${span})`;
    }),
  ];
}

/** The readings of boards that passed at other shops, a line each; no line where none is known. */
export function elsewhereLines(taken: readonly BoardKnowledge[]): string[] {
  return taken.flatMap(({ shop, points }) => [
    `readings of boards of that kind that passed at ${shop} (kept apart from your own readings):`,
    ...points.map(({ point, quantity, boards, median, least, most }) => {
      const say = (value: number) => sayAmount(value, UNITS[quantity]);
      const span = boards === 1 ? "one board" : `${boards} boards, ${say(least)} to ${say(most)}`;
      return `  ${visibleLine(point)}: ${say(median)}${quantity === "diodeVolts" ? " in diode mode" : ""} (${span})`;
    }),
  ]);
}
