import fc from "fast-check";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { driverLike, type Rig, supplyRig } from "./bench-rig.ts";

interface Step {
  channel: 1 | 2;
  does: "configure" | "read" | "settings" | "state";
  volts: number;
}

const steps = fc.array(
  fc.record<Step>({
    channel: fc.constantFrom(1, 2),
    does: fc.constantFrom("configure", "read", "settings", "state"),
    volts: fc.integer({ min: 1, max: 30 }).map((each) => each / 10),
  }),
  { minLength: 4, maxLength: 16 },
);

describe.each([
  ["on one line", true],
  ["on a line of its own", false],
] as const)("two feeds on one selecting supply, the selection %s", (_how, sameLine) => {
  let rig: Rig;
  beforeAll(async () => {
    const like = driverLike("selected-supply", { name: "own-supply", identity: { maker: "Bench" } });
    if (like.kind !== "supply" || like.channels.select === undefined) throw new Error("no selecting driver");
    const driver = { ...like, channels: { select: { ...like.channels.select, sameLine } } };
    rig = await supplyRig({ dialect: "selection", drivers: [driver] });
  });
  afterAll(() => rig.close());

  it("never reach each other's channel, however their commands interleave", async () => {
    await fc.assert(
      fc.asyncProperty(steps, async (sequence) => {
        const last = new Map<number, number>();
        const { supply } = rig;
        const perform = async ({ channel, does, volts }: Step): Promise<void> => {
          if (does === "configure") {
            await supply.configure(channel, { volts, limitAmps: channel / 10 });
            last.set(channel, volts);
          } else if (does === "read") await supply.read(channel);
          else if (does === "state") await supply.outputState(channel);
          else {
            const { limitAmps } = await supply.settings(channel);
            if (last.has(channel)) expect(limitAmps).toBe(channel / 10);
          }
        };
        // Each feed goes through its own steps in order; the two run at the same time.
        const feed = async (channel: number): Promise<void> => {
          for (const step of sequence) if (step.channel === channel) await perform(step);
        };
        await Promise.all([feed(1), feed(2)]);
        for (const [channel, volts] of last) {
          expect(await supply.settings(channel)).toMatchObject({ setVolts: volts, limitAmps: channel / 10 });
        }
      }),
      { numRuns: 25 },
    );
  }, 60_000);

  it("leave a third channel alone", async () => {
    expect(await rig.supply.settings(3)).toMatchObject({ setVolts: 0, limitAmps: 10, output: "off" });
  });

  it("select before every message that is for a channel", () => {
    let selected = "";
    for (const line of rig.commands()) {
      selected = /INST:NSEL (\d)/.exec(line)?.[1] ?? selected;
      if (!sameLine || /^(\*|SYST|INST:NSEL|INST:SEL|SOUR|OUTP2|MEAS2|VOLT\?|OUTP\?|MEAS:VOLT\?|OUTP:PROT)/.test(line))
        continue;
      expect(line).toMatch(/^INST:NSEL \d;:/);
    }
    expect(selected).not.toBe("");
  });
});
