import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import { possibleMeasurements } from "./model.ts";

/** A field of the readings that is not what it should be; the message follows its path in a sentence. */
export interface ReadingProblem {
  path: (string | number)[];
  message: string;
}

/** Everything in the readings that names no point, pair, check or answer of this board. */
export function readingProblems(board: BoardFile, readings: DiagnosisReadings, data: FaultData): ReadingProblem[] {
  const problems: ReadingProblem[] = [];
  const say = (path: (string | number)[], message: string): void => void problems.push({ path, message });
  const isPoint = (point: string): boolean => Object.hasOwn(board.feeds, point) || Object.hasOwn(board.rails, point);
  const known = [...Object.keys(board.feeds), ...Object.keys(board.rails)].join(", ");
  const measurements = possibleMeasurements(board, data);

  for (const slot of ["coldOhms", "coldOhmsReversed", "coldOhmsFourWire"] as const) {
    for (const point of Object.keys(readings[slot])) {
      const ends = point.split(":");
      if (ends.length > 2) say([slot, point], 'should be a point, or a pair "A:B"');
      else if (ends.length === 2 && ends[0] === ends[1]) say([slot, point], "names one point twice; a pair has two");
      for (const end of ends) {
        if (!isPoint(end))
          say(
            [slot, point],
            `names ${JSON.stringify(end)}, which is not a feed or rail of this board; it has ${known}`,
          );
        else if (board.rails[end]?.signal === true)
          say([slot, point], "is a signal; cold ohms are for feeds and rails");
      }
    }
  }
  for (const point of Object.keys(readings.volts)) {
    if (!isPoint(point)) say(["volts", point], `is not a feed or rail of this board; it has ${known}`);
    else if (Object.hasOwn(readings.signals, point)) say(["signals", point], "is given under volts too; give it once");
  }
  for (const point of Object.keys(readings.signals)) {
    if (!Object.hasOwn(board.rails, point))
      say(["signals", point], `is not a signal of this board; it has ${signalsOf(board)}`);
    else if (board.rails[point]?.signal !== true) say(["signals", point], "is a rail; it belongs under volts");
  }
  for (const point of Object.keys(readings.again)) {
    const isRead = Object.hasOwn(readings.volts, point) || Object.hasOwn(readings.signals, point);
    if (!isRead) say(["again", point], "has no first reading; the first reading belongs under volts or signals");
  }
  const states = Object.keys(board.states ?? {});
  if (readings.state !== undefined && !states.includes(readings.state))
    say(
      ["state"],
      `is ${JSON.stringify(readings.state)}, which is not a state of this board; it has ${states.join(", ") || "none"}`,
    );
  if (readings.host !== undefined && readings.host !== "attached" && readings.checks["host-look"] !== undefined)
    say(["host"], `is ${JSON.stringify(readings.host)}, although a host has looked; it should be "attached"`);
  for (const [name, answer] of Object.entries(readings.checks)) {
    const check = measurements.find((each) => each.slot.in === "checks" && each.slot.point === name);
    if (check === undefined)
      say(["checks", name], "is not a check of this board; the next measurements of an answer name its checks");
    else if (!check.outcomes.includes(answer))
      say(["checks", name], `is ${JSON.stringify(answer)}; it should be one of ${check.outcomes.join(", ")}`);
  }
  readings.cannotReach.forEach((name, index) => {
    const isMeasurement = measurements.some((each) => each.id === name || each.slot.point === name);
    const ends = name.replace(/^feed:/, "").split(":");
    if (!isMeasurement && !(ends.length <= 2 && ends.every(isPoint))) {
      say(
        ["cannotReach", index],
        `names ${JSON.stringify(name)}, which is not a point or measurement of this board; it has ${known}`,
      );
    }
  });
  return problems;
}

const signalsOf = (board: BoardFile): string =>
  Object.entries(board.rails)
    .filter(([, rail]) => rail.signal === true)
    .map(([name]) => name)
    .join(", ") || "none";
