import { execFile } from "node:child_process";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { expect, test } from "vitest";
import { startSimulation } from "../../src/simulator/start-simulation.ts";
import { realClock } from "../../src/system/real-clock.ts";

test("an independent VISA client identifies, sets, switches, measures and reads the error queue over a raw socket", async () => {
  const simulation = await startSimulation({
    scenario: "standby-only",
    dialect: "numbered",
    transport: "tcp",
    clock: realClock,
  });
  try {
    simulation.probe("slot12");
    const { psu, dmm } = simulation.benchFile.instruments;
    // The system's Python has the client (Debian's python3-pyvisa-py); another one on the path may not.
    const { stdout } = await promisify(execFile)(
      "/usr/bin/python3",
      [fileURLToPath(new URL("./visa-client.py", import.meta.url)), psu?.address ?? "", dmm?.address ?? ""],
      { timeout: 30_000 },
    );
    const seen = JSON.parse(stdout);
    expect(seen.supply).toBe("Bench,SIM-NUMBERED,SN1,1.0");
    expect(seen.meter).toBe("Bench,SIM-METER,SN9,1.0");
    expect(seen.set).toEqual([12, 1.5]);
    expect(seen.on).toBe("1");
    expect(seen.measured[0]).toBeCloseTo(12, 1);
    // Bias of the slot's controllers and the leakage of its input: 12 mA + 12 V / 15 kΩ.
    expect(seen.measured[1]).toBeCloseTo(0.0128, 2);
    expect(seen.probed).toBeCloseTo(12, 1);
    expect(seen.off).toBe("0");
    expect(seen.errors).toEqual(['-222,"Data out of range"', '-113,"Undefined header;NOSUCH:THING"', '0,"No error"']);
    expect(seen.complete).toBe("1");
    // SCPI-1999 answers its own year.
    expect(seen.version).toBe("1999.0");
    expect(simulation.truth().feeds["slot12"]?.output).toBe("off");
    expect(simulation.truth().feeds["aux"]?.switchings).toEqual([]);
  } finally {
    await simulation.close();
  }
}, 40_000);
