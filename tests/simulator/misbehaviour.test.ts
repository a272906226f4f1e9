import { describe, expect, test } from "vitest";
import { simulated, until } from "./simulated.ts";

describe("replies on their way out", () => {
  test("a delayed reply comes late, and only the one that was picked", async () => {
    const { simulation, clock, client } = await simulated();
    const psu = await client("psu");
    simulation.misbehave.replies("psu", { at: [1] }, { fault: "delay", ms: 60 });
    expect(await psu.ask("*OPC?")).toBe("1");
    psu.send("SYST:VERS?");
    psu.send("*OPC?");
    // The third question is answered before the second: a late reply is exactly that.
    expect(await psu.next()).toBe("1");
    clock.advance(60);
    expect(await psu.next()).toBe("1999.0");
  });

  test("a reply that is late in order keeps its place before the next", async () => {
    const { simulation, clock, client } = await simulated();
    const psu = await client("psu");
    simulation.misbehave.replies("psu", { next: 1 }, { fault: "delay", ms: 60, inOrder: true });
    psu.send("SYST:VERS?");
    psu.send("*OPC?");
    await until(() => simulation.history().filter((each) => each.kind === "reply").length === 2);
    clock.advance(60);
    expect(await psu.next()).toBe("1999.0");
    expect(await psu.next()).toBe("1");
  });

  test("a split reply comes in two pieces with the gap between", async () => {
    const { simulation, clock, client } = await simulated();
    const psu = await client("psu");
    simulation.misbehave.replies("psu", { next: 1 }, { fault: "split", at: 3, gapMs: 150 });
    psu.send("SYST:VERS?");
    await psu.until((received) => received.length >= 3);
    expect(psu.received).toBe("199");
    clock.advance(150);
    expect(await psu.next()).toBe("1999.0");
  });

  test("merged replies leave in one piece with the next", async () => {
    const { simulation, client } = await simulated();
    const psu = await client("psu");
    simulation.misbehave.replies("psu", { next: 1 }, { fault: "merge" });
    psu.send("SYST:VERS?");
    psu.send("*OPC?");
    await psu.until((received) => received.length > 0);
    expect(psu.received).toBe("1999.0\n1\n");
  });

  test.each([
    [{ fault: "drop" } as const, "1\n"],
    [{ fault: "repeat" } as const, "1999.0\n1999.0\n1\n"],
    [{ fault: "corrupt", at: 0, byte: 0xff } as const, "\xff999.0\n1\n"],
    [{ fault: "garbage", bytes: "\0\0xyz", place: "before" } as const, "\0\0xyz1999.0\n1\n"],
    [{ fault: "garbage", bytes: "xyz\n", place: "after" } as const, "1999.0\nxyz\n1\n"],
    [{ fault: "garbage", bytes: "\n", place: "instead" } as const, "\n1\n"],
    [{ fault: "replace", text: "9.9E37" } as const, "9.9E37\n1\n"],
    [{ fault: "rewrite", as: (text: string) => text.replace(".", ",") } as const, "1999,0\n1\n"],
  ])("%j", async (fault, received) => {
    const { simulation, client } = await simulated();
    const psu = await client("psu");
    simulation.misbehave.replies("psu", { next: 1 }, fault);
    psu.send("SYST:VERS?");
    psu.send("*OPC?");
    await psu.until((text) => text.endsWith("1\n") && text.length >= received.length);
    expect(psu.received).toBe(received);
  });

  test.each(["end", "reset"] as const)("a connection cut by %s after two bytes takes those two along", async (how) => {
    const { simulation, client } = await simulated();
    const psu = await client("psu");
    simulation.misbehave.replies("psu", { next: 1 }, { fault: "cut", bytes: 2, how });
    psu.send("SYST:VERS?");
    await psu.closed;
    // A reset may overtake what was written just before it.
    expect(how === "end" ? ["19"] : ["", "19"]).toContain(psu.received);
    const again = await client("psu");
    expect(await again.ask("*OPC?")).toBe("1");
  });

  test("a fault that was called off strikes no more", async () => {
    const { simulation, client } = await simulated();
    const psu = await client("psu");
    const callOff = simulation.misbehave.replies("psu", "all", { fault: "replace", text: "nonsense" });
    expect(await psu.ask("*OPC?")).toBe("nonsense");
    callOff();
    expect(await psu.ask("*OPC?")).toBe("1");
  });

  test("a share of replies is struck, the same ones for the same seed", async () => {
    const struck = async (): Promise<number[]> => {
      const { simulation, client } = await simulated();
      const psu = await client("psu");
      simulation.misbehave.replies("psu", { share: 0.2, seed: 5 }, { fault: "replace", text: "x" });
      const found: number[] = [];
      for (let each = 0; each < 200; each++) if ((await psu.ask("*OPC?")) === "x") found.push(each);
      return found;
    };
    const first = await struck();
    expect(first.length).toBeGreaterThan(20);
    expect(first.length).toBeLessThan(60);
    expect(await struck()).toEqual(first);
  });
});

describe("the instrument itself", () => {
  test("a stalled one runs what it is told and answers nothing", async () => {
    const { simulation, client } = await simulated();
    const psu = await client("psu");
    simulation.misbehave.stall("psu", true);
    psu.send("SOUR1:VOLT 3;:OUTP1 ON;:OUTP1?");
    await until(() => simulation.truth().feeds["in12"]?.output === "on");
    simulation.misbehave.stall("psu", false);
    // What was asked while it stalled stays unanswered.
    expect(await psu.ask("SYST:VERS?")).toBe("1999.0");
    expect(psu.received).toBe("1999.0\n");
  });

  test("a refused setting is in the error queue and was not done", async () => {
    const { simulation, client } = await simulated();
    const psu = await client("psu");
    const callOff = simulation.misbehave.refuse("psu", /VOLT/, -221, "Settings conflict");
    psu.send("SOUR1:VOLT 5");
    expect(await psu.ask("SYST:ERR?")).toBe('-221,"Settings conflict"');
    callOff();
    expect(await psu.ask("SOUR1:VOLT?")).toBe("0.000");
  });

  test("an ignored setting leaves no trace at all", async () => {
    const { simulation, client } = await simulated();
    const psu = await client("psu");
    simulation.misbehave.ignore("psu", /VOLT/);
    psu.send("SOUR1:VOLT 5");
    expect(await psu.ask("SYST:ERR?")).toBe('0,"No error"');
    expect(await psu.ask("SOUR1:VOLT?")).toBe("0.000");
  });

  test("commands that come too soon are dropped, and the history says which", async () => {
    const { simulation, clock, client } = await simulated({ traits: { gapMs: 50 } });
    const psu = await client("psu");
    psu.send("SOUR1:VOLT 5");
    psu.send("SOUR1:CURR 1");
    await until(() => simulation.history().some((each) => each.kind === "ignored"));
    clock.advance(60);
    expect(await psu.ask("SOUR1:VOLT?")).toBe("5.000");
    expect(
      simulation
        .history()
        .filter((each) => each.kind === "ignored")
        .map((each) => each.text),
    ).toEqual(["SOUR1:CURR 1"]);
  });

  test("an output that sticks stays on after OFF", async () => {
    const { simulation, client } = await simulated();
    const psu = await client("psu");
    psu.send("SOUR1:VOLT 3;:OUTP1 ON");
    simulation.misbehave.stayOn("psu", true);
    psu.send("OUTP1 OFF");
    expect(await psu.ask("OUTP1?")).toBe("1");
    expect(simulation.truth().feeds["in12"]?.output).toBe("on");
  });

  test("a hand on the front panel changes what the supply answers", async () => {
    const { simulation, client } = await simulated();
    const psu = await client("psu");
    await psu.ask("*OPC?");
    simulation.misbehave.frontPanel("in12", { volts: 7, limitAmps: 0.3, output: "on" });
    expect(await psu.ask("SOUR1:VOLT?;:SOUR1:CURR?;:OUTP1?")).toBe("7.000;0.300;1");
    expect(simulation.truth().feeds["in12"]?.switchings.at(-1)?.why).toBe("front panel");
  });

  test("frozen readings do not follow the output", async () => {
    const { simulation, clock, client } = await simulated();
    const psu = await client("psu");
    psu.send("SOUR1:VOLT 12;:OUTP1 ON");
    await psu.ask("*OPC?");
    clock.advance(500);
    simulation.misbehave.freeze("psu", true);
    const before = await psu.ask("MEAS1:VOLT?;:MEAS1:CURR?");
    psu.send("OUTP1 OFF");
    await psu.ask("*OPC?");
    clock.advance(5000);
    expect(await psu.ask("MEAS1:VOLT?;:MEAS1:CURR?")).toBe(before);
    simulation.misbehave.freeze("psu", false);
    clock.advance(100);
    expect(Number(await psu.ask("MEAS1:VOLT?"))).toBeLessThan(0.1);
  });

  test("another identity, bytes nobody asked for, a full error queue", async () => {
    const { simulation, client } = await simulated();
    const psu = await client("psu");
    simulation.misbehave.identity("psu", "Bench,OTHER,SN7,2");
    expect(await psu.ask("*IDN?")).toBe("Bench,OTHER,SN7,2");
    simulation.misbehave.errors("psu", [{ code: -222, words: "Data out of range" }]);
    expect(await psu.ask("SYST:ERR?")).toBe('-222,"Data out of range"');
    simulation.misbehave.blurt("psu", "hello\n");
    expect(await psu.next()).toBe("hello");
  });

  test("a new connection may begin with junk", async () => {
    const { simulation, client } = await simulated();
    simulation.misbehave.greet("psu", "\xffboot\r\n");
    const psu = await client("psu");
    expect(await psu.next()).toBe("\xffboot");
    expect(await psu.ask("*OPC?")).toBe("1");
  });

  test("an echoing supply sends each command back before its answer", async () => {
    const { client } = await simulated({ traits: { echo: true } });
    const psu = await client("psu");
    expect(await psu.ask("*OPC?")).toBe("*OPC?");
    expect(await psu.next()).toBe("1");
  });

  test("one that serves a single connection closes the second at once and serves again after the first", async () => {
    const { client } = await simulated({ traits: { singleConnection: true } });
    const first = await client("psu");
    expect(await first.ask("*OPC?")).toBe("1");
    const second = await client("psu");
    await second.closed;
    await first.close();
    const third = await client("psu");
    expect(await third.ask("*OPC?")).toBe("1");
  });

  test("a query that interrupts another drops its answer and files −410", async () => {
    const { simulation, clock, client } = await simulated({ traits: { interrupts: true, latencyMs: 20 } });
    const psu = await client("psu");
    psu.send("SYST:VERS?");
    psu.send("*OPC?");
    await until(() => simulation.history().filter((each) => each.kind === "command").length === 2);
    clock.advance(20);
    expect(await psu.next()).toBe("1");
    psu.send("SYST:ERR?");
    await until(() => simulation.history().filter((each) => each.kind === "command").length === 3);
    clock.advance(20);
    // SCPI-1999: −410 is query interrupted.
    expect(await psu.next()).toMatch(/^-410,/);
  });
});
