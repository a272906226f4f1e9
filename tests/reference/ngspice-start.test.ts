import { execFile } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { promisify } from "node:util";
import { expect, test } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import { startOrder } from "../../src/verdict/start/start-order.ts";

const board = BoardFile.parse({
  version: 1,
  name: "two filters",
  feeds: { slot12: { nominalVolts: 12 } },
  rails: {
    rc: { volts: 5, needs: ["feed:slot12"] },
    rlc: { volts: 1.8, needs: ["rc"], tolerance: [-0.1, 0.1] },
  },
});

/** An RC low-pass stepped at 1 ms, and a series RLC stepped at 4 ms; ngspice also measures them by its own `meas`. */
const netlist = (out: string): string => `two filters
V1 in1 0 PWL(0 0 1m 0 1.0001m 5)
R1 in1 rc 1k
C1 rc 0 0.2u
V2 in2 0 PWL(0 0 4m 0 4.0001m 1.8)
R2 in2 a 20
L2 a rlc 10m
C2 rlc 0 1u
.options reltol=1e-5 method=gear
.control
set wr_singlescale
tran 1u 12m 0 1u
meas tran rc_begin when v(rc)=0.5 rise=1
meas tran rc_end when v(rc)=4.5 rise=1
meas tran rlc_begin when v(rlc)=0.18 rise=1
meas tran rlc_end when v(rlc)=1.62 rise=1
meas tran rlc_peak max v(rlc)
wrdata ${out} v(rc) v(rlc)
quit
.endc
.end
`;

test("the times of a circuit are those that ngspice measures of it", async () => {
  const folder = await mkdtemp(join(tmpdir(), "firstamp-start-"));
  try {
    const [circuit, out] = [join(folder, "start.cir"), join(folder, "start.data")];
    await writeFile(circuit, netlist(out));
    const { stdout } = await promisify(execFile)("ngspice", ["-b", circuit], { cwd: folder });
    const measured = (name: string): number => Number(new RegExp(`^${name}\\s*=\\s*(\\S+)`, "m").exec(stdout)?.[1]);
    const rows = (await readFile(out, "utf8"))
      .trim()
      .split("\n")
      .map((line) => line.trim().split(/\s+/).map(Number));
    const column = (index: number): Float64Array => Float64Array.from(rows, (row) => row[index] ?? Number.NaN);
    const { rails, order, problems } = startOrder(
      {
        atMs: column(0).map((seconds) => 1000 * seconds),
        volts: new Map([
          ["rc", column(1)],
          ["rlc", column(2)],
        ]),
      },
      board,
    );
    expect(order).toEqual(["rc", "rlc"]);
    expect(rails["rc"]?.beginsMs).toBeCloseTo(1000 * measured("rc_begin"), 2);
    expect(rails["rc"]?.riseMs).toBeCloseTo(1000 * (measured("rc_end") - measured("rc_begin")), 2);
    expect(rails["rlc"]?.beginsMs).toBeCloseTo(1000 * measured("rlc_begin"), 2);
    expect(rails["rlc"]?.riseMs).toBeCloseTo(1000 * (measured("rlc_end") - measured("rlc_begin")), 2);
    expect(rails["rlc"]?.overshoot).toBeCloseTo(measured("rlc_peak") / 1.8 - 1, 2);
    expect(problems.join()).toContain("rlc overshoots");
  } finally {
    await rm(folder, { recursive: true });
  }
});
