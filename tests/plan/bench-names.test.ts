import { expect, test } from "vitest";
import { BenchFile } from "../../shared/files/bench-file.ts";
import { compilePlan } from "../../src/plan/compile/compile-plan.ts";
import { kestrelBench, kestrelBoard, kestrelCold, quickSupply } from "./example-plan.ts";

const problemsOf = (change: object): string[] => {
  const parsed = BenchFile.safeParse({ ...kestrelBench, ...change });
  return (parsed.error?.issues ?? []).map((issue) => `${issue.path.join(".")} ${issue.message}`);
};

test.each(["constructor", "toString", "hasOwnProperty"])("a bench file has no feed called %s", (name) => {
  expect(problemsOf({ feeds: { [name]: { supply: "psu" } } }).join()).toContain(`feeds.${name}`);
});

test.each(["constructor", "toString"])("a plan knows no feed %s that neither file has", (name) => {
  const made = compilePlan({
    bench: kestrelBench,
    board: kestrelBoard,
    capabilities: { psu: quickSupply },
    coldOhms: kestrelCold,
    options: { cooler: "block", keepOn: false, feeds: [name] },
  });
  expect("problems" in made ? made.problems.map((each) => each.path) : []).toEqual([`feeds.${name}`]);
});

test("two instruments at one address are refused with both names", () => {
  const at = (dmm: string) => ({
    instruments: {
      psu: { kind: "supply", address: "TCPIP0::192.0.2.20::5025::SOCKET" },
      dmm: { kind: "meter", address: dmm },
    },
  });
  const [said = ""] = problemsOf(at("tcpip::192.0.2.20::5025::socket"));
  expect(said).toContain("instruments.dmm.address");
  expect(said).toContain('"psu"');
  expect(problemsOf(at("TCPIP0::192.0.2.21::5025::SOCKET"))).toEqual([]);
});
