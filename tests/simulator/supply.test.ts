import { describe, expect, test } from "vitest";
import { simulated, until } from "./simulated.ts";

describe("protections", () => {
  test("over-voltage acts within the millisecond and stays until it is cleared", async () => {
    const { simulation, clock, client } = await simulated();
    const psu = await client("psu");
    psu.send("SOUR1:VOLT:PROT 5;:SOUR1:VOLT 12;:OUTP1 ON");
    expect(await psu.ask("OUTP1?")).toBe("1");
    clock.advance(20);
    expect(await psu.ask("OUTP1?;:SOUR1:VOLT:PROT:TRIP?")).toBe("0;1");
    expect(simulation.truth().feeds["in12"]?.maxBoardVolts).toBeLessThan(5.3);
    psu.send("OUTP1 ON");
    expect(await psu.ask("SYST:ERR?")).toMatch(/^-221,/);
    psu.send("OUTP1:PROT:CLE");
    expect(await psu.ask("OUTP1?;:SOUR1:VOLT:PROT:TRIP?")).toBe("0;0");
  });

  test("over-current waits for its delay; over-voltage does not know one", async () => {
    const { simulation, clock, client } = await simulated({ scenario: "partial-short" });
    const psu = await client("psu");
    psu.send("SOUR3:CURR:PROT:DEL 0.05;STAT ON;:SOUR3:CURR 0.5;:SOUR3:VOLT 12;:OUTP3 ON");
    expect(await psu.ask("SYST:ERR?")).toBe('0,"No error"');
    clock.advance(500);
    expect(await psu.ask("OUTP3?;:SOUR3:CURR:PROT:TRIP?")).toBe("0;1");
    expect(simulation.truth().feeds["aux"]?.limitedMs).toBeGreaterThan(49);
    expect(simulation.truth().feeds["aux"]?.limitedMs).toBeLessThan(52);
  });

  test.each([
    [false, "0"],
    [true, "1"],
  ])("clearing a protection where the supply restores the output (%s) answers %s", async (clearRestores, state) => {
    const { clock, client } = await simulated({ traits: { clearRestores } });
    const psu = await client("psu");
    psu.send("SOUR1:VOLT:PROT 5;:SOUR1:VOLT 12;:OUTP1 ON");
    await psu.ask("*OPC?");
    clock.advance(20);
    expect(await psu.ask("OUTP1?")).toBe("0");
    psu.send("SOUR1:VOLT 3;:SOUR1:VOLT:PROT 15;:OUTP1:PROT:CLE");
    expect(await psu.ask("OUTP1?")).toBe(state);
  });

  test("a communication watchdog switches off at its own time, also when nobody asks", async () => {
    const { simulation, clock, client } = await simulated();
    const psu = await client("psu");
    psu.send("OUTP:PROT:WDOG:DEL 2;:OUTP:PROT:WDOG ON;:SOUR1:VOLT 12;:OUTP1 ON");
    await psu.ask("*OPC?");
    clock.advance(1900);
    expect(simulation.truth().feeds["in12"]?.output).toBe("on");
    clock.advance(5000);
    const truth = simulation.truth().feeds["in12"];
    expect(truth?.output).toBe("off");
    expect(truth?.switchings.at(-1)).toEqual({ atMs: 2000, output: "off", why: "watchdog" });
    expect(await psu.ask("OUTP:PROT:WDOG:TRIP?")).toBe("1");
  });

  test.each([
    ["off", "off"],
    ["last", "on"],
    ["on", "on"],
  ] as const)(
    "after a power cycle with the power-on state %s an output that was on is %s",
    async (powerOnOutput, output) => {
      const { simulation, client } = await simulated({ traits: { powerOnOutput } });
      const psu = await client("psu");
      psu.send("SOUR1:VOLT 3;:OUTP1 ON;*CLS");
      expect(await psu.ask("*ESR?")).toBe("0");
      simulation.misbehave.powerCycle("psu");
      await psu.closed;
      const again = await client("psu");
      // Bit 7 of the event status register is power on (IEEE 488.2).
      expect(Number(await again.ask("*ESR?")) & 128).toBe(128);
      expect(simulation.truth().feeds["in12"]?.output).toBe(output);
    },
  );
});

describe("status and errors", () => {
  test("the operation condition tells constant voltage (bit 8) from constant current (bit 10)", async () => {
    const { clock, client } = await simulated({ scenario: "partial-short" });
    const psu = await client("psu");
    expect(await psu.ask("STAT:OPER3:COND?")).toBe("0");
    psu.send("SOUR3:VOLT 0.9;:SOUR3:CURR 0.05;:OUTP3 ON");
    await psu.ask("*OPC?");
    clock.advance(500);
    expect(await psu.ask("STAT:OPER3:COND?")).toBe("1024");
    psu.send("SOUR3:CURR 1");
    await psu.ask("*OPC?");
    clock.advance(200);
    expect(await psu.ask("STAT:OPER3:COND?")).toBe("256");
  });

  test("an instrument of several outputs has an operation condition for each, also under the instrument summary", async () => {
    const { simulation, clock, client } = await simulated({ scenario: "normal" });
    const psu = await client("psu");
    simulation.misbehave.frontPanel("slot12", { volts: 12, limitAmps: 1, output: "on" });
    clock.advance(200);
    const asked = [1, 2, 3].map((channel) => `STAT:OPER:INST:ISUM${channel}:COND?`).join(";:");
    expect(await psu.ask(asked)).toBe("0;256;0");
  });

  // SCPI-1999: −350 replaces the newest entry when the queue is full.
  test("a full error queue ends in −350", async () => {
    const { client } = await simulated({ traits: { errorQueue: 3 } });
    const psu = await client("psu");
    for (let each = 0; each < 5; each++) psu.send("NOSUCH");
    const errors = [];
    for (let each = 0; each < 4; each++) errors.push(await psu.ask("SYST:ERR?"));
    expect(errors.map((text) => Number.parseInt(text, 10))).toEqual([-113, -113, -350, 0]);
  });

  test("an error ends its line, and what was answered before it still comes", async () => {
    const { client, simulation } = await simulated();
    const psu = await client("psu");
    expect(await psu.ask("SOUR1:VOLT?;NOSUCH?;:SOUR1:CURR?")).toBe("0.000");
    psu.send("NOSUCH 1;:OUTP1 ON");
    // IEEE 488.2: bit 5 of the event status register is a command error.
    expect(Number(await psu.ask("*ESR?")) & 32).toBe(32);
    expect(simulation.truth().feeds["in12"]?.output).toBe("off");
  });

  test("ratings are asked by MIN and MAX, and out of them is refused", async () => {
    const { client } = await simulated({ traits: { maxVolts: 20, maxAmps: 3 } });
    const psu = await client("psu");
    expect(await psu.ask("SOUR1:VOLT? MAX;:SOUR1:VOLT? MIN;:SOUR1:CURR? MAX")).toBe("20.000;0.000;3.000");
    psu.send("SOUR1:VOLT 20.5");
    expect(await psu.ask("SYST:ERR?")).toMatch(/^-222,/);
    expect(await psu.ask("SOUR1:VOLT?")).toBe("0.000");
  });

  test("a supply that needs remote refuses settings until it is told, and answers questions", async () => {
    const { client } = await simulated({ traits: { needsRemote: true } });
    const psu = await client("psu");
    psu.send("SOUR1:VOLT 5");
    expect(await psu.ask("SYST:ERR?")).toMatch(/^-203,/);
    psu.send("SYST:REM");
    psu.send("SOUR1:VOLT 5");
    expect(await psu.ask("SOUR1:VOLT?")).toBe("5.000");
  });
});

describe("reading back", () => {
  test("a reading stays until the next refresh", async () => {
    const { clock, client } = await simulated({ traits: { refreshMs: 100, refreshJitter: 0, filterMs: 0 } });
    const psu = await client("psu");
    psu.send("SOUR1:VOLT 12;:OUTP1 ON");
    await psu.ask("*OPC?");
    clock.advance(310);
    const first = await psu.ask("MEAS1:CURR?");
    clock.advance(40);
    expect(await psu.ask("MEAS1:CURR?")).toBe(first);
    const seen = new Set<string>();
    for (let each = 0; each < 10; each++) {
      clock.advance(100);
      seen.add(await psu.ask("MEAS1:VOLT?"));
    }
    expect(seen.size).toBeGreaterThan(1);
  });

  test("steps, gain and offset are the supply's own", async () => {
    const { simulation, clock, client } = await simulated({
      traits: { stepAmps: 0.01, stepVolts: 0.01, noiseAmps: 0, noiseVolts: 0, gainAmps: 0.05, offsetVolts: 0.1 },
    });
    const psu = await client("psu");
    psu.send("SOUR1:VOLT 12;:OUTP1 ON");
    await psu.ask("*OPC?");
    clock.advance(1000);
    const truth = simulation.truth().feeds["in12"];
    expect(Number(await psu.ask("MEAS1:CURR?"))).toBeCloseTo(Math.round((truth?.amps ?? 0) * 105) / 100, 6);
    expect(Number(await psu.ask("MEAS1:VOLT?"))).toBeCloseTo(12.1, 6);
  });

  test("a reply leaves after the supply's latency and no sooner", async () => {
    const { clock, client, simulation } = await simulated({ traits: { latencyMs: 30 } });
    const psu = await client("psu");
    psu.send("*IDN?");
    await until(() => simulation.bytes.in > 0);
    clock.advance(29);
    expect(simulation.bytes.out).toBe(0);
    clock.advance(1);
    expect(await psu.next()).toContain("SIM-NUMBERED");
  });

  test.each([
    ["scientific", "+1.20000E+01"],
    ["fixed", "12.000"],
  ] as const)("numbers go out %s", async (numbers, text) => {
    const { client } = await simulated({ traits: { numbers } });
    const psu = await client("psu");
    psu.send("SOUR1:VOLT 12");
    expect(await psu.ask("SOUR1:VOLT?")).toBe(text);
  });

  test.each(["\n", "\r\n", "\r", "\n\r"] as const)(
    "replies end in %j where the supply's terminator is that",
    async (terminator) => {
      const { client } = await simulated({ traits: { terminator } });
      const psu = await client("psu");
      await psu.ask("*OPC?");
      await psu.until((received) => received.endsWith(terminator));
      expect(psu.received).toBe(`1${terminator}`);
    },
  );
});

test("the same seed gives the same readings", async () => {
  const readings = async (seed: number): Promise<string[]> => {
    const { clock, client } = await simulated({ seed });
    const psu = await client("psu");
    psu.send("SOUR1:VOLT 12;:OUTP1 ON");
    await psu.ask("*OPC?");
    const seen: string[] = [];
    for (let each = 0; each < 20; each++) {
      clock.advance(13);
      seen.push(await psu.ask("MEAS1:VOLT?;:MEAS1:CURR?"));
    }
    return seen;
  };
  const first = await readings(7);
  expect(await readings(7)).toEqual(first);
  expect(await readings(8)).not.toEqual(first);
});
