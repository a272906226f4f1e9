import { describe, expect, test } from "vitest";
import { type Dialect, dialects } from "../../src/simulator/simulated-supply.ts";
import { simulated } from "./simulated.ts";

/** How each dialect says the same things about feed "slot12". */
const slot12: Record<
  Dialect,
  {
    instrument: string;
    set: string[];
    ask: (what: string) => string;
    on: string;
    off: string;
    state: string;
    both: string;
  }
> = {
  plain: {
    instrument: "psu-slot12",
    set: ["VOLT 12", "CURR 1.5"],
    ask: (what) => `${what}?`,
    on: "OUTP ON",
    off: "OUTP OFF",
    state: "OUTP?",
    both: "MEAS:VOLT?;:MEAS:CURR?",
  },
  selection: {
    instrument: "psu",
    set: ["INST:NSEL 2;:VOLT 12", "INST:SEL CH2;:CURR 1.5"],
    ask: (what) => `INST:NSEL 2;:${what}?`,
    on: "INST:NSEL 2;:OUTP ON",
    off: "INST:NSEL 2;:OUTP OFF",
    state: "INST:NSEL 2;:OUTP?",
    both: "INST:NSEL 2;:MEAS:VOLT?;:MEAS:CURR?",
  },
  "channel-list": {
    instrument: "psu",
    set: ["VOLT 12,(@2)", "CURR 1.5, (@2)"],
    ask: (what) => `${what}? (@2)`,
    on: "OUTP ON,(@2)",
    off: "OUTP OFF,(@2)",
    state: "OUTP? (@2)",
    both: "MEAS:VOLT? (@2);:MEAS:CURR? (@2)",
  },
  numbered: {
    instrument: "psu",
    set: ["SOUR2:VOLT 12", ":SOURCE2:CURRENT:LEVEL:IMMEDIATE:AMPLITUDE 1500MA"],
    ask: (what) => `SOUR2:${what}?`,
    on: "OUTP2 ON",
    off: "OUTPUT2:STATE 0",
    state: "OUTP2?",
    both: "MEAS2:VOLT?;:MEAS2:CURR?",
  },
};

describe.each(["tcp", "pty"] as const)("over %s", (transport) => {
  test.each(dialects)("a %s supply sets, switches and reads its second feed and no other", async (dialect) => {
    const { simulation, clock, client } = await simulated({ scenario: "normal", dialect, transport });
    const words = slot12[dialect];
    const psu = await client(words.instrument);
    expect(await psu.ask("*IDN?")).toMatch(/^Bench,SIM-[A-Z-]+,SN1(-\d)?,1\.0$/);
    for (const line of words.set) psu.send(line);
    expect(await psu.ask(words.ask("VOLT"))).toBe("12.000");
    expect(await psu.ask(words.ask("CURR"))).toBe("1.500");
    psu.send(words.on);
    expect(await psu.ask(words.state)).toBe("1");
    clock.advance(200);
    const [volts = "", amps = ""] = (await psu.ask(words.both)).split(";");
    expect(Number(volts)).toBeCloseTo(12, 1);
    expect(Number(amps)).toBeCloseTo(simulation.truth().feeds["slot12"]?.amps ?? Number.NaN, 2);
    expect(Object.entries(simulation.truth().feeds).map(([feed, each]) => [feed, each.output])).toEqual([
      ["slot3v3", "off"],
      ["slot12", "on"],
      ["aux", "off"],
    ]);
    psu.send(words.off);
    expect(await psu.ask(words.state)).toBe("0");
    expect(await psu.ask("SYST:ERR?")).toBe('0,"No error"');
    expect(simulation.truth().feeds["slot12"]?.switchings.map((each) => each.output)).toEqual(["on", "off"]);
  });
});

test("each feed of a plain bench has a supply of its own; the other dialects share one", async () => {
  const plain = await simulated({ scenario: "normal", dialect: "plain" });
  expect(Object.keys(plain.simulation.benchFile.instruments)).toEqual(["psu-slot3v3", "psu-slot12", "psu-aux", "dmm"]);
  const numbered = await simulated({ scenario: "normal", dialect: "numbered" });
  expect(Object.keys(numbered.simulation.benchFile.instruments)).toEqual(["psu", "dmm"]);
  expect(numbered.simulation.benchFile.feeds["aux"]).toMatchObject({ supply: "psu", channel: 3 });
});

test.each([
  ["plain", "SOUR2:VOLT 5", -114],
  ["plain", "VOLT 5,(@2)", -108],
  ["plain", "INST:NSEL 2", -113],
  ["selection", "INST:NSEL 9", -222],
  ["selection", "OUTP2 ON", -114],
  ["channel-list", "VOLT 5,(@9)", -222],
  ["channel-list", "MEAS3:VOLT?", -114],
  ["numbered", "SOUR9:VOLT 5", -114],
  ["numbered", "VOLT 5,(@2)", -108],
] as const)("a %s supply refuses %s with %i and does nothing", async (dialect, line, code) => {
  const { simulation, client } = await simulated({ scenario: "normal", dialect });
  const psu = await client(dialect === "plain" ? "psu-aux" : "psu");
  psu.send(line);
  expect(await psu.ask("SYST:ERR?")).toMatch(new RegExp(`^${code},`));
  expect(Object.values(simulation.truth().feeds).every((feed) => feed.output === "off" && feed.maxSetVolts === 0)).toBe(
    true,
  );
});

test.each(dialects.filter((dialect) => dialect !== "plain"))(
  "a %s supply has a second output also where the board has one feed",
  async (dialect) => {
    const { simulation, client } = await simulated({ scenario: "single-feed", dialect });
    const psu = await client("psu");
    const ask = { selection: "INST:NSEL 2;:VOLT?", "channel-list": "VOLT? (@2)", numbered: "SOUR2:VOLT?", plain: "" }[
      dialect
    ];
    expect(await psu.ask(ask)).toBe("0.000");
    expect(Object.keys(simulation.benchFile.feeds)).toEqual(["in12"]);
    expect(Object.keys(simulation.truth().feeds)).toEqual(["in12"]);
  },
);
