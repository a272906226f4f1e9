import { afterEach, describe, expect, it } from "vitest";
import { BenchError } from "../../shared/bench-error.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { until } from "../link/until.ts";
import { driverLike, errorOf, type Rig, SETTING_12V, supplyRig, wentOff } from "./bench-rig.ts";

describe("the way off", () => {
  let rig: Rig | undefined;
  afterEach(async () => {
    await rig?.close();
    rig = undefined;
  });
  const on = async (options: Parameters<typeof supplyRig>[0] = {}): Promise<Rig> => {
    rig = await supplyRig(options);
    await rig.supply.configure(rig.channel, SETTING_12V);
    await rig.supply.switchOn(rig.channel, rig.guard());
    return rig;
  };

  it.each(["tcp", "pty"] as const)("does not wait for a question that is never answered, on %s", async (transport) => {
    const { supply, channel, sim, name } = await on({ transport });
    sim.misbehave.stall(name, true);
    const reading = supply.read(channel).catch((cause: unknown) => cause);
    supply.cut([channel]);
    expect(await reading).toBeInstanceOf(BenchError);
    await until(() => sim.voltsAt("aux") !== undefined && wentOff(sim));
    sim.misbehave.stall(name, false);
    expect(await supply.proveOff([channel], { withinMs: 2000 })).toMatchObject({ output: "off" });
  });

  it("goes on a fresh connection too, with a question outstanding", async () => {
    const { supply, channel, sim, name } = await on();
    sim.misbehave.stall(name, true);
    const { connection } = supply;
    supply.read(channel).catch(() => {});
    await until(() => sim.history().at(-1)?.kind === "command");
    supply.cut([channel]);
    await until(() => sim.history().filter((each) => each.text.includes("OUTP3 OFF")).length >= 2);
    expect(supply.connection).toBeGreaterThan(connection);
    sim.misbehave.stall(name, false);
  });

  it("comes twice, for an instrument that dropped the first", async () => {
    const { supply, channel, sim } = await on();
    supply.cut([channel]);
    await until(
      () => sim.history().filter((each) => each.kind === "command" && each.text.includes("OUTP3 OFF")).length >= 2,
    );
    expect(await supply.outputState(channel)).toBe("off");
  });

  it("leaves a gap where the instrument drops what comes too soon", async () => {
    const traits = { gapMs: 20 };
    const slow = driverLike("numbered-supply", { name: "slow-supply", identity: { maker: "Bench" } });
    const { supply, channel } = await on({ traits, drivers: [{ ...slow, wire: { ...slow.wire, gapMs: 60 } }] });
    await supply.read(channel);
    supply.cut([channel]);
    expect(await supply.proveOff([channel], { withinMs: 2000 })).toMatchObject({ output: "off" });
  });

  it("is not proved by a supply that stays on; off is said again and again", async () => {
    const { supply, channel, sim, name, commands } = await on();
    sim.misbehave.stayOn(name, true);
    commands();
    supply.cut([channel]);
    const proof = await supply.proveOff([channel], { withinMs: 2000 });
    expect(proof.output).toBe("unknown");
    expect(proof.detail).toContain("reads on");
    // Where off does not help, no volts do.
    await until(() => Math.abs(sim.voltsAt("aux") ?? 12) < 0.3);
    expect(commands().filter((each) => each.includes("OUTP3 OFF")).length).toBeGreaterThan(2);
    sim.misbehave.stayOn(name, false);
  });

  it("is not proved by silence", async () => {
    const { supply, channel, sim, name } = await on();
    sim.misbehave.stall(name, true);
    expect(await supply.proveOff([channel], { withinMs: 200 })).toMatchObject({ output: "unknown" });
    sim.misbehave.stall(name, false);
  });

  it("is written by close() where an output may be on", async () => {
    const { supply, sim } = await on();
    await supply.close();
    expect(wentOff(sim)).toBe(true);
  });

  it.each(["numbered", "selection", "channel-list"] as const)(
    "is told to the guardian in bytes that work, in the %s dialect",
    async (dialect) => {
      const { supply, channel, sim } = await on({ dialect });
      const bytes = supply.offBytes([channel, 1]);
      const { openLink } = await import("../../src/link/open-link.ts");
      const link = await openLink({ address: supply.address, clock: realClock });
      const lines: string[] = [];
      link.onLine((line) => lines.push(line.text));
      for (const each of bytes.off) link.write(each.text);
      for (const each of [bytes.identityQuery, ...bytes.state, ...bytes.current]) link.write(each);
      await until(() => lines.length === 5);
      expect(lines[0]).toBe(bytes.identity);
      expect(bytes.offAnswers).toContain(lines[1]);
      expect(bytes.offAnswers).toContain(lines[2]);
      expect(Number.isFinite(Number.parseFloat(lines[3] ?? ""))).toBe(true);
      expect(wentOff(sim)).toBe(true);
      await link.close();
    },
  );

  it("is verified before a protection is cleared, and after: clearing restores on some supplies", async () => {
    const { supply, channel, sim } = await on({ traits: { clearRestores: true } });
    await supply.configure(channel, { volts: 12, limitAmps: 3, overVolts: 13.2 });
    // The front panel turns the voltage into the protection, which trips.
    sim.misbehave.frontPanel("aux", { volts: 20 });
    await until(() => sim.voltsAt("aux") !== undefined && wentOff(sim));
    sim.misbehave.frontPanel("aux", { volts: 5 });
    const error = await errorOf(supply.clearProtection(channel));
    expect(error.code).toBe("output-unknown");
    expect(await supply.proveOff([channel], { withinMs: 1000 })).toMatchObject({ output: "off" });
  });

  it("is what the communication watchdog does when the computer goes silent", async () => {
    const { supply, channel, sim } = await on();
    expect(await supply.armWatchdog(1)).toBe(true);
    await until(() => sim.truth().feeds["aux"]?.switchings.at(-1)?.why === "watchdog");
    const offMs = sim.truth().feeds["aux"]?.switchings.at(-1)?.atMs ?? 0;
    // By the instrument's own clock: when this process hears of it is a matter of the machine.
    const heardMs = sim.history().findLast((each) => each.kind === "command" && each.atMs < offMs)?.atMs ?? offMs;
    expect(offMs - heardMs).toBeGreaterThan(900);
    expect(await supply.outputState(channel)).toBe("off");
  });
});
