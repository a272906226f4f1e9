import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData } from "../../../shared/files/fault-data.ts";
import { HostCondition } from "../../../shared/record/diagnosis.ts";
import { possibleMeasurements } from "./model.ts";

/** The answers that each of these checks of a board may have; none for one that the board does not have. */
export function answerChoices(
  checks: readonly string[],
  { board, data }: { board: BoardFile; data: FaultData },
): Record<string, string[]> {
  if (checks.length === 0) return {};
  const measurements = possibleMeasurements(board, data);
  const choicesOf = (name: string): readonly string[] => {
    if (name === "host") return HostCondition.options;
    if (name === "state") return Object.keys(board.states ?? {});
    return measurements.find(({ slot }) => slot.in === "checks" && slot.point === name)?.outcomes ?? [];
  };
  return Object.fromEntries(checks.map((name) => [name, [...choicesOf(name)]]));
}
