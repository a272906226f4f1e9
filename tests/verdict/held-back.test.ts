import { describe, expect, it } from "vitest";
import type { Diagnosis } from "../../shared/record/diagnosis.ts";
import { type Bench, type Held, heldBack } from "../../src/verdict/diagnosis/held-back.ts";
import { diagnosisModel } from "../../src/verdict/diagnosis/model.ts";
import { rankNext } from "../../src/verdict/diagnosis/rank-next.ts";
import { shippedFaultData } from "../../src/verdict/diagnosis/shipped-fault-data.ts";
import { diagnosed, HEALTHY_OHMS, HEALTHY_SIGNALS, HEALTHY_VOLTS, KESTREL } from "./diagnosis-bench.ts";

const proposed = ({ next }: Diagnosis): string[] => next.map((each) => each.measure);

describe("a plane behind a fuse that two looks found low, where no short is likely", () => {
  const model = diagnosisModel(KESTREL, shippedFaultData(), null);
  const belief = model.hypotheses.map(({ kind }) => (kind === "no-fault" ? 1 : 0));
  const benchOf = (taken: Record<string, string>): Bench => ({
    taken: new Map(Object.entries({ "cold ohms 3v3": "low", "cold ohms 3v3, leads reversed": "low", ...taken })),
    isOutOfReach: () => false,
    tooHigh: [],
    hasPowered: false,
  });
  const held = (taken: Record<string, string>): Held | null => heldBack(model, belief, benchOf(taken));

  it("holds power back, and is hunted where current can go in: at its feed", () => {
    const low = held({});
    expect(low).toMatchObject({ why: "low", point: "3v3", hunt: "slot3v3" });
    const next = rankNext(model, belief, benchOf({}), low).map(({ measurement }) => measurement.id);
    expect(next).toEqual(expect.arrayContaining(["inject slot3v3", "gradient slot3v3"]));
    expect(next).not.toContain("draw at nominal volts");
  });
  it("is cleared by two hunts there that find nothing, and by no single one", () => {
    expect(held({ "gradient slot3v3": "none" })?.why).toBe("low");
    expect(held({ "gradient slot3v3": "none", "inject slot3v3": "part" })?.why).toBe("low");
    expect(held({ "gradient slot3v3": "none", "inject slot3v3": "none" })?.why).toBe("unread");
  });
  it("is cleared by one hunt where its diode volts are those of a good board, and not where they are lower", () => {
    expect(held({ "diode slot3v3": "as-good" })?.why).toBe("low");
    expect(held({ "diode slot3v3": "as-good", "gradient slot3v3": "none" })?.why).toBe("unread");
    expect(held({ "diode slot3v3": "as-good", "gradient slot3v3": "to-a-spot" })?.why).toBe("low");
    expect(held({ "diode slot3v3": "lower", "gradient slot3v3": "none" })?.why).toBe("low");
  });
  it("is not cleared while a short there is likelier than one in a thousand and can still be looked for", () => {
    const short = model.hypotheses.findIndex(
      ({ faults }) => faults.length === 1 && faults[0]?.row.short === true && faults[0].point === "slot3v3",
    );
    const heldAt = (share: number, taken: Record<string, string>): Held | null => {
      const shares = belief.map((each, index) => (index === short ? share : each * (1 - share)));
      return heldBack(model, shares, benchOf(taken));
    };
    const hunted = { "gradient slot3v3": "none", "inject slot3v3": "none" };
    expect(heldAt(0.005, hunted)?.why).toBe("low");
    expect(heldAt(0.0005, hunted)?.why).toBe("unread");
    // Nothing is left to look with: the bound for the whole board decides.
    expect(heldAt(0.005, { ...hunted, "diode slot3v3": "as-good" })?.why).toBe("unread");
  });
  it("is cleared by as many looks at its feed that find it normal: they are one node while the fuse is whole", () => {
    const once = { "cold ohms slot3v3": "normal" };
    const twice = { ...once, "cold ohms slot3v3, leads reversed": "normal" };
    expect(held(once)?.why).toBe("low");
    expect(held(twice)?.why).toBe("unread");
    expect(held({ ...twice, "fuse slot3v3": "open" })?.why).toBe("low");
    expect(held({ ...twice, "cold ohms slot3v3, leads reversed": "high" })?.why).toBe("low");
    expect(held({ ...twice, "cold ohms 3v3, four wires": "low" })?.why).toBe("low");
  });
});

describe("a short from one rail into another that shows nowhere but between the two", () => {
  const model = diagnosisModel(KESTREL, shippedFaultData(), null);
  const hidden = model.hypotheses.findIndex(({ faults }) => faults.length === 1 && faults[0]?.row.id === "F42");
  const pair = "cold ohms 3v3:1v8";
  const heldAt = (share: number): Held | null => {
    const belief = model.hypotheses.map(({ kind }, index) =>
      index === hidden ? share : kind === "no-fault" ? 1 - share : 0,
    );
    const points = model.measurements.filter(({ slot, points }) => slot.in === "coldOhms" && points.length === 1);
    const taken = new Map([...points.map(({ id }): [string, string] => [id, "normal"]), [pair, "normal"]]);
    return heldBack(model, belief, { taken, isOutOfReach: () => false, tooHigh: [], hasPowered: false });
  };

  it("reads as well where the probe made no contact: a pair has no high end", () => {
    const chance = model.measurements.find(({ id }) => id === pair)?.chance[hidden];
    // 3 % of looks are slips, and three of four slips at ohms show no contact or the healthy span (the shipped fault data).
    expect(chance?.[2]).toBeCloseTo(0.03 * 0.75, 3);
  });
  it("asks for a second look between them before power, while it is not out of the question", () => {
    expect(heldAt(2e-4)).toMatchObject({ why: "unread", measurement: `${pair}, leads reversed` });
    expect(heldAt(1e-6)).toBeNull();
  });
});

it("a short that is not likely enough to be hunted anywhere, and too likely for power, is hunted where it is likeliest", () => {
  const diagnosis = diagnosed({
    coldOhms: { ...HEALTHY_OHMS, "mem-vpp": 1e6 },
    coldOhmsReversed: { "mem-vpp": 1e6 },
    coldOhmsFourWire: { "mem-vpp": 30 },
  });
  expect(diagnosis.held).toContain("a short is not ruled out");
  expect(diagnosis.shortProbability).toBeLessThan(0.05);
  expect(proposed(diagnosis).slice(0, 3)).toEqual(["diode mem-vpp", "gradient mem-vpp", "inject mem-vpp"]);
});

it("every point is read once before one of them is read a second time", () => {
  const { slot3v3: _, "12v-slot": __, ...some } = HEALTHY_OHMS;
  const diagnosis = diagnosed({ coldOhms: some });
  expect(diagnosis.held).not.toBeNull();
  expect(["cold ohms slot3v3", "cold ohms 12v-slot", "cold ohms 3v3:1v8"]).toContain(proposed(diagnosis)[0]);
});

it("what would take more than two hours for one bit is not proposed: a quarter of an hour at the firmware for a hundredth of one", () => {
  const diagnosis = diagnosed({
    draw: "core-alive",
    host: "attached",
    coldOhms: HEALTHY_OHMS,
    volts: HEALTHY_VOLTS,
    signals: HEALTHY_SIGNALS,
    checks: {
      "host-look": "no-link",
      "clock-pair": "differ",
      "clock-pair, again": "differ",
      lanes: "alike",
      "clock-scope": "runs",
      "firmware-volts": "there",
      "chip-warmth": "warm",
      "press-and-warm": "no-change",
    },
  });
  expect(proposed(diagnosis)).toContain("fans-run");
  for (const dear of ["firmware-read", "second-host", "start-trace"]) expect(proposed(diagnosis)).not.toContain(dear);
});

const RAILS_NORMAL = {
  draw: "core-alive",
  host: "attached",
  coldOhms: HEALTHY_OHMS,
  volts: HEALTHY_VOLTS,
  signals: HEALTHY_SIGNALS,
} as const;

it("a test that runs on the card at the host waits until the host lists the card", () => {
  const offered = (checks: Record<string, string>): string[] =>
    proposed(diagnosed({ ...RAILS_NORMAL, draw: "normal", checks: { "firmware-switch": "no-change", ...checks } }));
  const tests = ["memory-test", "load-test", "ripple", "phase-balance"];
  const some = (checks: Record<string, string>): boolean => offered(checks).some((each) => tests.includes(each));
  expect(some({})).toBe(false);
  expect(some({ "host-look": "no-link" })).toBe(false);
  expect(some({ "host-look": "driver-not-bound" })).toBe(true);
  // The later look holds.
  expect(some({ "host-look": "driver-not-bound", "host-look, again": "no-link" })).toBe(false);
});

it("what follows from an answer waits for it: a leg's two sides for lanes that differ, a strap's trial for a strap that does", () => {
  const offered = (checks: Record<string, string>): string[] =>
    proposed(diagnosed({ ...RAILS_NORMAL, checks: { "host-look": "narrow-or-slow", ...checks } }));
  expect(offered({})).not.toContain("lane-side");
  expect(offered({ lanes: "alike" })).not.toContain("lane-side");
  expect(offered({ lanes: "one-differs" })).toContain("lane-side");
  expect(offered({ straps: "match" })).not.toContain("strap-trial");
  expect(offered({ straps: "differ" })).toContain("strap-trial");
});
