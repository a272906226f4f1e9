import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { FaultData } from "../../shared/files/fault-data.ts";
import { diagnosisOf } from "../../src/command/input/diagnose-file.ts";
import { parseJson } from "../../src/system/parse-json.ts";
import { shippedFaultData } from "../../src/verdict/diagnosis/shipped-fault-data.ts";
import { KESTREL } from "./diagnosis-bench.ts";

let folder: string;
let board: string;
beforeAll(() => {
  folder = mkdtempSync(path.join(tmpdir(), "firstamp-diagnosis-"));
  board = file("kestrel.json", JSON.stringify(KESTREL));
});
afterAll(() => rmSync(folder, { recursive: true }));

function file(name: string, text: string): string {
  const full = path.join(folder, name);
  writeFileSync(full, text);
  return full;
}

/** The sentence a file is refused with. */
async function refusal(what: {
  board?: unknown;
  boardText?: string;
  readings?: unknown;
  faults?: unknown;
  shop?: unknown;
}): Promise<string> {
  const write = (name: string, content: unknown): string => file(name, JSON.stringify(content));
  const options = {
    board:
      what.boardText !== undefined
        ? file("b.json", what.boardText)
        : what.board === undefined
          ? board
          : write("b.json", what.board),
    ...(what.faults === undefined ? {} : { faults: write("f.json", what.faults) }),
    ...(what.shop === undefined ? {} : { shop: write("s.json", what.shop) }),
  };
  const readings = write("r.json", what.readings ?? {});
  return await diagnosisOf(readings, options).then(
    () => "accepted",
    (cause: Error) => cause.message,
  );
}

const railed = (rails: unknown): unknown => ({ version: 1, name: "b", feeds: { aux: { nominalVolts: 12 } }, rails });

describe("a board file that cannot be is refused with the path of the field", () => {
  it.each([
    [
      "a rail that needs itself through another",
      railed({ a: { volts: 5, needs: ["b"] }, b: { volts: 3, needs: ["a"] } }),
      "rails.a.needs goes in a circle: a needs b needs a",
    ],
    [
      "a need nobody meets",
      railed({ a: { volts: 5, needs: ["c"] } }),
      'rails.a.needs names "c", which is not a rail of this board',
    ],
    ["a tolerance the wrong way round", railed({ a: { volts: 5, tolerance: [0.05, -0.05] } }), "rails.a.tolerance"],
    [
      "a tolerance beyond the rail itself",
      railed({ a: { volts: 5, tolerance: [-1.5, 0.1] } }),
      "rails.a.tolerance[0] is -1.5",
    ],
    [
      "cold ohms the wrong way round",
      railed({ a: { volts: 5, coldOhms: [50, 5] } }),
      "rails.a.coldOhms should be [low, high]",
    ],
    ["ohms below zero", railed({ a: { volts: 5, coldOhms: [-5, 50] } }), "rails.a.coldOhms begins at -5"],
    [
      "a rail with a feed's name",
      railed({ aux: { volts: 12, needs: ["feed:aux"] } }),
      "rails.aux is also the name of a feed",
    ],
  ])("%s", async (_, content, sentence) => {
    expect(await refusal({ board: content })).toContain(sentence);
  });
  it("a rail named twice, which JSON would let pass", async () => {
    const text =
      '{ "version": 1, "name": "b", "feeds": { "aux": { "nominalVolts": 12 } }, "rails": { "a": { "volts": 5 }, "a": { "volts": 3 } } }';
    expect(await refusal({ boardText: text })).toContain("rails.a appears twice");
  });
});

describe("readings that are not of this board are refused with their path", () => {
  it.each([
    [{ coldOhms: { kore: 1 } }, 'coldOhms.kore names "kore", which is not a feed or rail of this board'],
    [{ coldOhms: { "aux:nowhere": 1 } }, 'coldOhms.aux:nowhere names "nowhere"'],
    [{ coldOhms: { "core:core": 1 } }, "coldOhms.core:core names one point twice"],
    [{ coldOhms: { core: -1 } }, "coldOhms.core"],
    [{ coldOhms: { core: "1.2k" } }, "coldOhms.core"],
    [{ coldOhms: { clock: 10 } }, "coldOhms.clock is a signal"],
    [{ volts: { "9v": 9 } }, "volts.9v is not a feed or rail"],
    [{ signals: { core: 0.8 } }, "signals.core is a rail; it belongs under volts"],
    [{ signals: { perst: 0 } }, "signals.perst is not a signal of this board; it has clock"],
    [{ draw: "hot" }, "draw"],
    [{ cannotReach: ["moon"] }, 'cannotReach[0] names "moon"'],
    [{ checks: { lanes: "fine" } }, 'checks.lanes is "fine"; it should be one of alike, one-differs, several-open'],
    [{ checks: { smell: "bad" } }, "checks.smell is not a check of this board"],
    [{ colOhms: {} }, "colOhms is not a field here"],
  ])("%j", async (readings, sentence) => {
    expect(await refusal({ readings })).toContain(sentence);
  });
  it("accepts the readings of the contract", async () => {
    const readings = {
      draw: "core-alive",
      coldOhms: { core: 0.4 },
      volts: { mem: 0.02 },
      signals: { clock: 0.0 },
      cannotReach: [],
    };
    expect(await refusal({ readings })).toBe("accepted");
  });
});

describe("fault data that cannot be is refused with the path of the field", () => {
  const shipped = structuredClone(shippedFaultData());
  const { rows } = shipped;
  it.each([
    [
      "priors that do not sum",
      { ...shipped, weightTotal: 100 },
      "weightTotal is 100; the weights of rows sum to 137.5",
    ],
    [
      "a weight below zero",
      { ...shipped, rows: [{ ...rows[0], weight: -1 }, ...rows.slice(1)] },
      "rows[0].weight is -1",
    ],
    [
      "shares of a draw that do not sum",
      { ...shipped, rows: [{ ...rows[0], draw: [0.5, 0, 0, 0, 0, 0, 0] }, ...rows.slice(1)] },
      "rows[0].draw should be 7 shares that sum to 1",
    ],
    [
      "minutes below zero",
      { ...shipped, costs: { ...shipped.costs, volts: { minutes: -0.5, risk: 1 } } },
      "costs.volts.minutes is -0.5",
    ],
    [
      "a risk beyond the scale",
      { ...shipped, costs: { ...shipped.costs, volts: { minutes: 1, risk: 4 } } },
      "costs.volts.risk is 4",
    ],
    [
      "minutes of a check below zero",
      { ...shipped, checks: { ...shipped.checks, lanes: { ...shipped.checks["lanes"], minutes: -5 } } },
      "checks.lanes.minutes is -5",
    ],
    ["one id twice", { ...shipped, rows: [{ ...rows[0], id: "F02" }, ...rows.slice(1)] }, 'rows[1].id repeats "F02"'],
    [
      "a word that does not exist",
      { ...shipped, rows: [{ ...rows[0], cold: { at: "Q" } }, ...rows.slice(1)] },
      'rows[0].cold.at names "Q"',
    ],
  ])("%s", async (_, faults, sentence) => {
    expect(await refusal({ faults })).toContain(sentence);
  });
  it("confirmed causes that name no fault, or fewer than none", async () => {
    expect(await refusal({ shop: { version: 1, confirmed: { F99: 1 } } })).toContain("confirmed.F99 is not a fault");
    expect(await refusal({ shop: { version: 1, confirmed: { F16: -1 } } })).toContain("confirmed.F16 is -1");
  });
  it("while the shipped data, written out, passes", async () => {
    expect(FaultData.safeParse(shipped).success).toBe(true);
    expect(await refusal({ faults: shipped })).toBe("accepted");
  });
});

describe("parseJson()", () => {
  it.each([
    ['{"a":{"b":1,"c":[{"d":1,"d":2}]}}', "a.c[0].d"],
    ['{"a":[{"x":1},{"x":1,"x":1}]}', "a[1].x"],
    ['{"a":1,"\\u0061":2}', "a"],
    ['{"a" :1,"b":{"a":1},"a"\t:2}', "a"],
  ])("refuses %s, naming the key that is there twice", (text, key) => {
    JSON.parse(text);
    expect(() => parseJson(text)).toThrow(`${key} appears twice`);
  });
  it.each([
    '{"a":"b","b":"a","c":["a","a"]}',
    '{"a":{"k":1},"b":{"k":1}}',
    '["a","a"]',
    '"{\\"a\\":1,\\"a\\":2}"',
    '{"a":"\\\\","b":"\\\\"}',
  ])("gives for %s what the language's own reader gives", (text) => {
    expect(parseJson(text)).toEqual(JSON.parse(text));
  });
  it("refuses what is nested too deeply, before anything walks it", () => {
    expect(() => parseJson(`${"[".repeat(100_000)}${"]".repeat(100_000)}`)).toThrow("nested in each other");
  });
});
