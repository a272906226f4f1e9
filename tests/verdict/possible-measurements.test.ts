import { describe, expect, test } from "vitest";
import { loadScenario, scenarioNames } from "../../src/simulator/load-scenario.ts";
import { diagnosisModel, possibleMeasurements } from "../../src/verdict/diagnosis/model.ts";
import { shippedFaultData } from "../../src/verdict/diagnosis/shipped-fault-data.ts";

const data = shippedFaultData();
const boards = new Map(
  (await Promise.all((await scenarioNames()).map(loadScenario))).flatMap(({ board }) =>
    board === null ? [] : [[board.name, board] as const],
  ),
);

describe.each([...boards])("what can be measured on %s", (_name, board) => {
  test("is the same without the chances: names, places and answers", () => {
    const told = ({ id, slot, outcomes }: { id: string; slot: unknown; outcomes: readonly string[] }) => ({
      id,
      slot,
      outcomes,
    });
    const whole = diagnosisModel(board, data, null).measurements.map(told);
    expect(whole.length).toBeGreaterThan(20);
    expect(possibleMeasurements(board, data).map(told)).toEqual(whole);
  });
});
