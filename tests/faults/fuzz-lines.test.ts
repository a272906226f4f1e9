import { expect, test } from "vitest";
import { BenchError } from "../../shared/bench-error.ts";
import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { ReadingQuestions } from "../../src/instrument/reading-questions.ts";
import { LineLink } from "../../src/link/line-link.ts";
import { splitReplies } from "../../src/scpi/compound.ts";
import { seededRandom } from "../../src/simulator/random.ts";
import { HandClock } from "../hand-clock.ts";
import { driverLike } from "../instrument/bench-rig.ts";
import { keptBytes } from "../kept-bytes.ts";
import { keepTable } from "./fault-report.ts";
import { fuzzedLine } from "./fuzzed-lines.ts";

const LINES = Number(process.env["FIRSTAMP_FUZZED_LINES"] ?? 20_000);
const MOST_GROWTH_BYTES = 10 * 1024 * 1024;
/** IEEE 488.2, 8.7.2 to 8.7.4: NR1, NR2, NR3; written down here anew, so as not to ask the parser about itself. */
const NR = /^[ \t]*[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?[ \t]*[vVaA]?[ \t]*$/;

test(`${LINES} fuzzed lines: no crash, no reading that the line does not hold, no memory kept`, () => {
  const clock = new HandClock();
  const lines: string[] = [];
  const link = new LineLink({ address: "fuzzed", clock, wire: { send: () => {}, shut: async () => {} } });
  link.onLine(({ text }) => lines.push(text));
  link.onJunk(() => {});
  const driver = driverLike("numbered-supply", {}) as SupplyDriver;
  const questions = new ReadingQuestions({ driver, hasMode: true, joins: true });
  const asked = questions.next(1);
  const grammar = { instrument: "psu", decimalComma: false, units: driver.wire.units };
  const random = seededRandom(7);
  let [understood, refused, fromGarbage, growth] = [0, 0, 0, 0];
  let firstHeap = 0;
  for (let each = 0; each < LINES; each++) {
    if (each === Math.floor(LINES / 10)) firstHeap = keptBytes();
    link.received(Buffer.from(`${fuzzedLine(random)}\n`, "latin1"));
    for (const text of lines.splice(0)) {
      const fields = splitReplies(text);
      try {
        if (fields.length !== 2 + asked.extras.length) throw new BenchError("bad-reply", "a field too few or too many");
        const reading = questions.understood(asked, fields, grammar);
        understood += 1;
        for (const [value, field] of [
          [reading.volts.kind === "value" ? reading.volts.volts : undefined, fields[0]],
          [reading.amps.kind === "value" ? reading.amps.amps : undefined, fields[1]],
        ] as const) {
          if (value === undefined) continue;
          const own = NR.test(field ?? "") ? Number((field ?? "").replace(/[vVaA]\s*$/, "")) : Number.NaN;
          if (!Number.isFinite(value) || Math.abs(value) >= 9e37 || own !== value) fromGarbage += 1;
        }
      } catch (cause) {
        expect(cause).toBeInstanceOf(BenchError);
        refused += 1;
      }
    }
  }
  growth = keptBytes() - firstHeap;
  keepTable("lines", { lines: LINES, understood, refused, fromGarbage, growthBytes: growth });
  expect(fromGarbage).toBe(0);
  expect(understood).toBeGreaterThan(0.1 * LINES);
  expect(refused).toBeGreaterThan(0.1 * LINES);
  expect(growth).toBeLessThan(MOST_GROWTH_BYTES);
}, 300_000);
