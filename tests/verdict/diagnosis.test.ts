import { describe, expect, it } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import { Diagnosis } from "../../shared/record/diagnosis.ts";
import { diagnosed, HEALTHY_OHMS, HEALTHY_SIGNALS, HEALTHY_VOLTS, KESTREL, topOf } from "./diagnosis-bench.ts";

const BEFORE_1V8 = { "12v": 12.1, "12v-slot": 12.05, "3v3": 3.3, "5v": 5.01 };

// What each fault looks like is common practice of the trade, no source.
describe("diagnose() names the element along the power tree", () => {
  it.each([
    [
      "1v8 dead",
      { draw: "standby-only", coldOhms: HEALTHY_OHMS, volts: { ...BEFORE_1V8, "1v8": 0.01, pll: 0, core: 0 } },
    ],
    [
      "5v dead",
      { draw: "standby-only", coldOhms: HEALTHY_OHMS, volts: { "12v": 12, "3v3": 3.3, "5v": 0, "1v8": 0, core: 0 } },
    ],
    ["core short", { draw: "retrying", coldOhms: { ...HEALTHY_OHMS, core: 0.01 } }],
    ["mem short", { draw: "retrying", coldOhms: { ...HEALTHY_OHMS, mem: 0.3 } }],
    ["core high-side-short", { draw: "dead-short", coldOhms: { aux: 0.42, core: 0.4, "aux:core": 0.05 } }],
    ["aux short", { draw: "dead-short", coldOhms: { ...HEALTHY_OHMS, aux: 0.8, "12v": 0.8 } }],
    ["aux open", { draw: "open-input", coldOhms: { ...HEALTHY_OHMS, aux: "open" }, volts: { "12v": 0, "5v": 0 } }],
    [
      "core dead",
      {
        draw: "partly-up",
        coldOhms: HEALTHY_OHMS,
        volts: { ...HEALTHY_VOLTS, core: 0, mem: 0, "mem-vpp": 0 },
        signals: { "core-enable": 3.3 },
      },
    ],
    [
      "mem-vpp dead",
      {
        draw: "core-alive",
        coldOhms: HEALTHY_OHMS,
        volts: { ...HEALTHY_VOLTS, "mem-vpp": 0 },
        signals: HEALTHY_SIGNALS,
        checks: { "enable mem-vpp": "high" },
      },
    ],
    [
      "clock dead",
      { draw: "core-alive", coldOhms: HEALTHY_OHMS, volts: HEALTHY_VOLTS, signals: { ...HEALTHY_SIGNALS, clock: 0 } },
    ],
    [
      "reset stuck",
      {
        draw: "core-alive",
        host: "attached",
        coldOhms: HEALTHY_OHMS,
        volts: HEALTHY_VOLTS,
        signals: { ...HEALTHY_SIGNALS, reset: 0 },
      },
    ],
    [
      "1v8 not-enabled",
      {
        draw: "standby-only",
        coldOhms: HEALTHY_OHMS,
        volts: { ...BEFORE_1V8, "1v8": 0 },
        checks: { "enable 1v8": "low" },
      },
    ],
    [
      "board no-fault",
      { draw: "normal", coldOhms: HEALTHY_OHMS, volts: HEALTHY_VOLTS, checks: { "second-host": "works" } },
    ],
  ])("%s", (fault, readings) => {
    expect(topOf(diagnosed(readings))).toBe(fault);
  });

  it("answers in the shape it promises, likeliest first, probabilities of a whole", () => {
    const diagnosis = diagnosed({
      draw: "core-alive",
      coldOhms: { core: 0.4 },
      volts: { mem: 0.02 },
      signals: { clock: 0 },
    });
    expect(Diagnosis.parse(diagnosis)).toEqual(diagnosis);
    const probabilities = diagnosis.faults.map((fault) => fault.probability);
    expect(probabilities).toEqual([...probabilities].sort((a, b) => b - a));
    const sum = probabilities.reduce((total, each) => total + each, 0);
    expect(sum).toBeGreaterThan(0.9);
    expect(sum).toBeLessThanOrEqual(1.0001);
  });

  it("takes a core of 0.4 Ω for sound where 0.1 to 5 Ω is healthy, and 0.01 Ω for a short", () => {
    const share = (core: number): number =>
      diagnosed({ coldOhms: { core } }).faults.find((fault) => fault.element === "core" && fault.kind === "short")
        ?.probability ?? 0;
    expect(share(0.01)).toBeGreaterThan(0.3);
    expect(share(0.4)).toBeLessThan(0.01);
  });

  it("explains in sentences with the readings they rest on", () => {
    const [top] = diagnosed({
      draw: "standby-only",
      coldOhms: HEALTHY_OHMS,
      volts: { ...BEFORE_1V8, "1v8": 0.01 },
    }).faults;
    expect(
      top?.because.some((each) =>
        /^Supports it: 1v8 reads 10 mV; it should read 1.8 V: absent \(expected in \d+ %/.test(each),
      ),
    ).toBe(true);
    expect(top?.because.at(-1)).toMatch(/^Before any reading its probability was 2\.\d %\.$/);
  });
});

describe("an open fuse", () => {
  it("carries the short that may have burnt it", () => {
    const [top] = diagnosed({ draw: "open-input", coldOhms: { aux: "open" } }).faults;
    expect(`${top?.element} ${top?.kind}`).toBe("aux open");
    const behind = (top?.causes ?? [])
      .filter((each) => each.fault.startsWith("F01+"))
      .reduce((sum, each) => sum + each.probability, 0);
    const alone = top?.causes.find((each) => each.fault === "F01")?.probability ?? 0;
    // Common practice, no source: about 0.8 of open fuses have a short behind them.
    expect(behind / (behind + alone)).toBeCloseTo(0.8, 1);
  });
  it("with a plane that reads well behind it is an open fuse alone", () => {
    const [top] = diagnosed({ draw: "open-input", coldOhms: { ...HEALTHY_OHMS, aux: "open" } }).faults;
    expect(top?.causes.every((each) => !each.fault.includes("+") || each.probability < 0.02)).toBe(true);
  });
});

describe("two faults that have nothing to do with each other", () => {
  it("are found together where each has readings of its own", () => {
    const { faults } = diagnosed({
      coldOhms: { ...HEALTHY_OHMS, mem: 0.2, pll: 0.3 },
      coldOhmsReversed: { mem: 0.2, pll: 0.3 },
      coldOhmsFourWire: { mem: 0.2, pll: 0.3 },
    });
    const [top] = faults;
    const both = [top?.element, ...(top?.also ?? []).map((each) => each.element)].sort();
    expect(both).toEqual(["mem", "pll"]);
    expect(top?.probability).toBeGreaterThan(0.8);
  });
});

describe("what to measure next", () => {
  it("is never anything that energises while a short is likelier than 1 %", () => {
    for (const readings of [
      {},
      { draw: "core-alive" },
      { draw: "standby-only", volts: { "5v": 0 } },
      { draw: "retrying", coldOhms: { ...HEALTHY_OHMS, mem: 0.3 } },
      { draw: "normal", coldOhms: { core: 0.01 } },
    ]) {
      const { next, shortProbability, held } = diagnosed(readings);
      expect(shortProbability).toBeGreaterThan(0.01);
      expect(next.filter((each) => each.energises)).toEqual([]);
      expect(held).toMatch(/^No measurement that energises the board is proposed/);
      expect(next.length).toBeGreaterThan(0);
    }
  });
  it("is a second look with the leads reversed before the first power-up, then the power-up", () => {
    const first = diagnosed({ coldOhms: { ...HEALTHY_OHMS, "3v3:1v8": 2000 } });
    expect(first.next[0]?.measure).toBe("cold ohms core, leads reversed");
    expect(first.next.some((each) => each.energises)).toBe(false);
    const { core, mem, pll, "1v8": v1, "5v": v5, "mem-vpp": vpp, soc, aux, slot12, slot3v3 } = HEALTHY_OHMS;
    const again = { core, mem, pll, "1v8": v1, "5v": v5, "mem-vpp": vpp, soc, aux, slot12, slot3v3 };
    // Between 3.3 V and 1.8 V a switch that passes its input on shows nowhere else: that pair is read as well.
    expect(diagnosed({ coldOhms: HEALTHY_OHMS, coldOhmsReversed: again }).held).toContain('"cold ohms 3v3:1v8"');
    const second = diagnosed({ coldOhms: { ...HEALTHY_OHMS, "3v3:1v8": 2000 }, coldOhmsReversed: again });
    expect(second.held).toBeNull();
    expect(second.next.find((each) => each.energises)?.measure).toBe("draw at nominal volts");
  });
  it("walks the rails once the board was powered and shorts are out", () => {
    const { next, held } = diagnosed({ draw: "standby-only", coldOhms: HEALTHY_OHMS });
    expect(held).toBeNull();
    const volts = next.slice(0, 3).find((each) => each.measure.startsWith("volts "));
    expect(volts?.energises).toBe(true);
    expect(volts?.expectedDropBits).toBeGreaterThan(0.3);
  });
  it("leaves out what cannot be reached: a point, a pair, a check", () => {
    const all = { draw: "standby-only", coldOhms: HEALTHY_OHMS };
    const before = diagnosed(all).next.map((each) => each.measure);
    expect(before).toContain("volts 1v8");
    expect(before).toContain("enable pll");
    const after = diagnosed({ ...all, cannotReach: ["1v8", "enable pll"] }).next.map((each) => each.measure);
    expect(after.filter((each) => /1v8|enable pll/.test(each))).toEqual([]);
    expect(after.length).toBeGreaterThan(3);
  });
  it("holds power back where a point goes on reading low, until two hunts found nothing", () => {
    const low = { ...HEALTHY_OHMS, "12v-slot": 120 };
    const readings = {
      draw: "standby-only",
      coldOhms: low,
      coldOhmsReversed: { "12v-slot": 120 },
      coldOhmsFourWire: { "12v-slot": 120 },
    };
    expect(diagnosed(readings).next.some((each) => each.energises)).toBe(false);
  });
  it("goes past the rails where each of them is well: firmware, clock, lanes", () => {
    const { next, faults } = diagnosed({
      draw: "core-alive",
      coldOhms: HEALTHY_OHMS,
      volts: HEALTHY_VOLTS,
      signals: HEALTHY_SIGNALS,
    });
    const names = next.map((each) => each.measure);
    expect(names.slice(0, 5)).toEqual(expect.arrayContaining(["host-look", "firmware-switch", "clock-pair", "lanes"]));
    expect(faults.slice(0, 4).map((fault) => fault.element)).toEqual(expect.arrayContaining(["lanes", "firmware"]));
  });
  it("says for each what it would tell apart, and where its answer goes", () => {
    const { next } = diagnosed({ draw: "standby-only", coldOhms: HEALTHY_OHMS });
    const volts = next.find((each) => each.measure === "volts 1v8");
    expect(volts?.because).toMatch(
      /^Tells apart: 1v8 dead \(\d+ %\) should give "absent", .+ should give "normal": 0\.\d\d bits for 0\.5 min, risk 1\.$/,
    );
    expect(volts?.record).toEqual({ in: "volts", point: "1v8", answers: null });
    const check = next.find((each) => each.measure === "enable pll");
    expect(check?.record).toEqual({ in: "checks", point: "enable pll", answers: ["high", "low"] });
  });
});

describe("a chip", () => {
  it("is never the first advice after one reading, and two proofs are asked for", () => {
    for (const readings of [
      { draw: "core-alive" },
      { coldOhms: { core: 0.01 } },
      { checks: { "press-and-warm": "changes" } },
    ]) {
      const { faults } = diagnosed(readings);
      expect(faults[0]?.element).not.toMatch(/^chip/);
      expect(faults[0]?.causes[0]?.fault).not.toMatch(/F12|F13|F14|F34|F36/);
      const chip = faults.find((fault) => fault.chipProofs !== null);
      expect(chip?.chipProofs).toBeLessThan(2);
      expect(
        chip?.because.some((each) => each.startsWith("A chip is replaced only after two independent proofs")),
      ).toBe(true);
    }
  });
  it("comes first once the heat and the lifted inductor both point to it", () => {
    const { faults } = diagnosed({
      draw: "retrying",
      coldOhms: { ...HEALTHY_OHMS, core: 0.01 },
      checks: { "inject core": "die", "lift core": "chip-side" },
    });
    expect(faults[0]?.causes[0]?.fault).toBe("F12");
    expect(faults[0]?.chipProofs).toBeGreaterThanOrEqual(2);
  });
});

describe("boards of other shapes", () => {
  it("diagnoses a board that is nothing but a feed", () => {
    const board = BoardFile.parse({ version: 1, name: "plain", feeds: { "dc-in": { nominalVolts: 19 } } });
    expect(topOf(diagnosed({ draw: "dead-short", coldOhms: { "dc-in": 0.3 } }, { board }))).toBe("dc-in short");
    expect(diagnosed({}, { board }).next.length).toBeGreaterThan(0);
  });
  it("diagnoses rails without a role in the fault data", () => {
    const board = BoardFile.parse({
      version: 1,
      name: "amplifier",
      feeds: { main: { nominalVolts: 24 } },
      rails: {
        "24v": { volts: 24, needs: ["feed:main"] },
        "15v": { volts: 15, coldOhms: [500, 50000], needs: ["24v"] },
        "3v3-logic": { volts: 3.3, coldOhms: [200, 20000], needs: ["15v"] },
      },
    });
    const readings = {
      draw: "standby-only",
      volts: { "24v": 24, "15v": 0, "3v3-logic": 0 },
      coldOhms: { main: 5000, "15v": 4000, "3v3-logic": 900 },
    };
    expect(topOf(diagnosed(readings, { board }))).toBe("15v dead");
  });
  it("says where shipped spans stand in for a board file's", () => {
    const { rails: _, across: __, ...rest } = KESTREL;
    const board = BoardFile.parse({ ...rest, coldPairs: {}, rails: { core: { volts: 0.85, needs: ["feed:aux"] } } });
    expect(diagnosed({ coldOhms: { core: 0.4 } }, { board }).notes.join(" ")).toContain("built-in values are used");
  });
});

describe("a shop's confirmed causes", () => {
  it("move the priors by their count against 25 shipped jobs, and are shown", () => {
    const prior = (shop?: { version: 1; confirmed: Record<string, number> }): number =>
      diagnosed({}, shop === undefined ? {} : { shop }).faults.find(
        (fault) => fault.element === "1v8" && fault.kind === "dead",
      )?.probability ?? 0;
    const before = prior();
    // (25·p + 25)/(25 + 25)
    expect(prior({ version: 1, confirmed: { F16: 25 } })).toBeCloseTo((before + 1) / 2, 4);
    expect(prior({ version: 1, confirmed: {} })).toBeCloseTo(before, 6);
    const { notes } = diagnosed({}, { shop: { version: 1, confirmed: { F16: 25, F18: 2 } } });
    expect(notes.join(" ")).toContain(
      "27 confirmed jobs of this shop are counted in; the built-in starting probabilities count as 25: F16 25, F18 2",
    );
  });
});
