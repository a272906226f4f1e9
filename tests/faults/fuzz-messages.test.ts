import { expect, test } from "vitest";
import { FromGuardian, ToGuardian } from "../../shared/guardian.ts";
import { FromBench, IPC_PROTOCOL, type ToBench } from "../../shared/ipc.ts";
import { Bench } from "../../src/bench/bench.ts";
import { type Random, seededRandom } from "../../src/simulator/random.ts";
import { HandClock } from "../hand-clock.ts";
import { keptBytes } from "../kept-bytes.ts";
import { FaultBench } from "./fault-bench.ts";
import { keepTable } from "./fault-report.ts";
import { oneOf } from "./fault-row.ts";

const MESSAGES = Number(process.env["FIRSTAMP_FUZZED_MESSAGES"] ?? 2000);
const MOST_GROWTH_BYTES = 10 * 1024 * 1024;
const ODD = [null, undefined, -1, 0, 1e308, Number.NaN, "", "cut", [], {}, true, { type: "run" }, "x".repeat(5000)];

/** A copy with one to four places of it changed for something else, left out, or given a name nobody knows. */
function fuzzed(message: unknown, random: Random): unknown {
  const copy = structuredClone(message);
  for (let left = 1 + Math.floor(4 * random.next()); left > 0; left--) spoil(copy, random);
  return random.next() < 0.05 ? oneOf(random, ODD) : copy;
}

function spoil(value: unknown, random: Random): void {
  if (typeof value !== "object" || value === null) return;
  const at = oneOf(random, Object.keys(value));
  if (at === undefined) return;
  const inside = (value as Record<string, unknown>)[at];
  if (typeof inside === "object" && inside !== null && random.next() < 0.8) return spoil(inside, random);
  const how = random.next();
  if (how < 0.3) Reflect.deleteProperty(value, at);
  else if (how < 0.4) Object.assign(value, { unheardOf: 1 });
  else Object.assign(value, { [at]: oneOf(random, ODD) });
}

test(`${MESSAGES} fuzzed messages between the processes: none throws, nothing comes on, no memory is kept`, async () => {
  // Genuine ones to be spoiled: those of a run on a simulated bench.
  const source = await FaultBench.start({ transport: "tcp", seed: 1 });
  const prepared = await source.prepare();
  const { bench: benchFile, drivers } = prepared.request;
  await source.close();
  const stamp = { id: 1, lease: 1, deadlineMs: 1e9 };
  const genuine: ToBench[] = [
    { type: "hello", protocol: IPC_PROTOCOL, lease: 1, armDirectory: "/nowhere" },
    { type: "beat", lease: 1 },
    { type: "connect", ...stamp, bench: benchFile, drivers: drivers.slice(0, 1), feeds: ["in12"] },
    {
      type: "run",
      ...stamp,
      record: "0192aaaa-0000-7000-8000-000000000000",
      plan: prepared.plan,
      permit: prepared.permit,
      confirmsRaises: false,
    },
    { type: "answer", ...stamp, question: 1, yes: true },
    { type: "stop", ...stamp, by: "a test" },
    { type: "cut", id: 2, by: "a test" },
  ];
  const clock = new HandClock();
  let [said, unsaid, opened, kept] = [0, 0, 0, 0];
  const bench = new Bench({
    clock,
    openLink: () => {
      opened += 1;
      return Promise.reject(new Error("there is no instrument"));
    },
    send: (message) => {
      said += 1;
      if (!FromBench.safeParse(message).success) unsaid += 1;
    },
    startGuardian: null,
    scheduling: "a test's",
    beatLimitMs: 250,
  });
  const random = seededRandom(11);
  for (let each = 0; each < MESSAGES; each++) {
    if (each === Math.floor(MESSAGES / 10)) kept = keptBytes();
    const message = fuzzed(oneOf(random, genuine), random);
    bench.receive(message);
    ToGuardian.safeParse(message);
    FromGuardian.safeParse(message);
    FromBench.safeParse(message);
    expect(bench.isEnergised).toBe(false);
    // Lets go on what waits behind the message; the clock stands still.
    if (each % 64 === 0) await new Promise((resolve) => setImmediate(resolve));
  }
  const growth = keptBytes() - kept;
  const before = said;
  bench.receive(genuine[0]);
  expect(said).toBe(before + 1);
  expect(unsaid).toBe(0);
  keepTable("messages", { messages: MESSAGES, answered: before, opened, growthBytes: growth });
  expect(growth).toBeLessThan(MOST_GROWTH_BYTES);
  await bench.close();
}, 300_000);
