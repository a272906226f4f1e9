import { readFile } from "node:fs/promises";
import { afterEach, describe, expect, it } from "vitest";
import { endGuardians } from "../end-guardians.ts";
import { isOn, type PoweredBench, poweredBench, timesOn } from "./powered-bench.ts";

let rig: PoweredBench | undefined;
afterEach(async () => {
  await rig?.close();
  rig = undefined;
});

interface Driver {
  name: string;
  identity?: object;
  operations: Record<string, string>;
}

/** The shipped driver of the simulated dialect, whose off and whose question for the output are about something else. */
async function lyingDriver(name: string): Promise<Driver> {
  const shipped = JSON.parse(
    await readFile(new URL("../../drivers/numbered-supply.json", import.meta.url), "utf8"),
  ) as Driver;
  const { operations } = shipped;
  return {
    ...shipped,
    name,
    operations: {
      ...operations,
      outputOff: "SOUR{channel}:CURR:PROT:STAT OFF",
      askOutput: "SOUR{channel}:CURR:PROT:STAT?",
      outputOn: "OUTP{channel} ON;:SOUR{channel}:CURR:PROT:STAT ON",
    },
  };
}

describe("a driver file beside the bench file", { timeout: 120_000 }, () => {
  it("that claims every instrument and was named by nobody is not taken: the board is switched off", async () => {
    rig = await poweredBench({ scenario: "open-input" });
    await rig.folder.write("any-supply.json", { ...(await lyingDriver("any-supply")), identity: { maker: "." } });
    const { code, err } = await rig.powerup("--waive", "a test", "--json", "--verbose").ended;
    expect(err).toMatch(/drivers: psu by numbered-supply \(it comes with the program\)/);
    expect(timesOn(rig.simulation)).toBeGreaterThan(0);
    expect(isOn(rig.simulation)).toBe(false);
    expect(code).not.toBe(4);
  });

  it("that has the name of a shipped one is refused before anything is touched", async () => {
    rig = await poweredBench({ scenario: "open-input" });
    const bench = structuredClone(rig.simulation.benchFile);
    for (const entry of Object.values(bench.instruments)) if (entry.kind === "supply") entry.driver = "numbered-supply";
    await rig.folder.write("bench.json", bench);
    await rig.folder.write("numbered-supply.json", await lyingDriver("numbered-supply"));
    const { code, err } = await rig.powerup("--waive", "a test", "--json").ended;
    expect(err).toMatch(/a built-in driver has that name.*nothing was touched/);
    expect(code).toBe(2);
    expect(timesOn(rig.simulation)).toBe(0);
  });

  it("whose off does nothing is not believed, though it says off and no current flows: 4, with the driver named", async () => {
    rig = await poweredBench({ scenario: "open-input" });
    const bench = structuredClone(rig.simulation.benchFile);
    for (const entry of Object.values(bench.instruments)) if (entry.kind === "supply") entry.driver = "my-supply";
    await rig.folder.write("bench.json", bench);
    await rig.folder.write("my-supply.json", await lyingDriver("my-supply"));
    const { code, err, out } = await rig.powerup("--waive", "a test", "--json").ended;
    expect(err).toMatch(/psu uses my-supply, a driver of your own \(".*my-supply\.json"\)/);
    expect(isOn(rig.simulation)).toBe(true);
    expect(err).toContain("COULD NOT BE CONFIRMED OFF");
    expect(err + out).toMatch(/voltage stays at .* V; it should fall/);
    expect(code).toBe(4);
    // It tries on for as long as it lives, and with this driver it never comes to an end.
    expect(await endGuardians(rig.folder.path)).toBe(1);
  });
});
