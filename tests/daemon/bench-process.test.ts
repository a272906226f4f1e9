import { once } from "node:events";
import { afterEach, describe, expect, test } from "vitest";
import { BenchProcess } from "../../src/daemon/process/bench-process.ts";
import { BENCH, ScriptedBench } from "./scripted-bench.ts";

let bench: ScriptedBench;
let client: BenchProcess;
afterEach(async () => {
  await client.close();
  await bench.remove();
});

/** A bench process that does what `script` says, once it has taken a first command. */
async function started(script: string): Promise<BenchProcess> {
  bench = await ScriptedBench.write(script);
  client = new BenchProcess({ armDirectory: null, program: bench.program });
  return client;
}
const connect = () => client.connect({ bench: BENCH, drivers: [], feeds: ["aux"] });

describe("BenchProcess.cut()", () => {
  test("is taken once the bench process says that it wrote the off lines", async () => {
    await started("");
    await connect();
    expect(await client.cut("a test")).toEqual({ taken: true });
  });

  test("is not taken where the bench process gives no word within 300 ms", async () => {
    await started("on.cut = () => {};");
    await connect();
    const askedMs = performance.now();
    const word = await client.cut("a test");
    expect(word).toEqual({ taken: false, because: "The bench process did not answer the cut within 300 ms." });
    // A timer never fires more than its one millisecond early.
    expect(performance.now() - askedMs).toBeGreaterThanOrEqual(299);
  });

  test("is not taken where the bench process is gone, or goes in the same moment", async () => {
    await started("");
    await connect();
    const lost = once(client, "lost");
    process.kill(client.pid ?? 0, "SIGKILL");
    expect(await client.cut("a test")).toMatchObject({ taken: false });
    await lost;
    expect(await client.cut("a test")).toEqual({ taken: false, because: "The bench process has ended." });
  });

  test("is not taken where the bench process says that no supply is connected", async () => {
    await started(
      `on.cut = ({ id }) => send({ type: "problem", id, problem: { code: "link-closed", message: "No supply.", instrument: null, output: "untouched" } });`,
    );
    await connect();
    expect(await client.cut("a test")).toEqual({ taken: false, because: "No supply." });
  });

  test("tells the proof of the last cut, and not one of an earlier cut", async () => {
    await started(
      `on.cut = (message) => { done(message); if (count.cut === 2) for (const id of [message.id - 1, message.id]) send({ type: "cut-proof", id, output: id === message.id ? "off" : "unknown", because: "looked" }); };`,
    );
    await connect();
    const proof = once(client, "cut-proof");
    await client.cut("a test");
    await client.cut("a test");
    expect(await proof).toMatchObject([{ output: "off" }]);
  });
});

describe("a bench process that cannot be believed", () => {
  test.each([
    ["says what fits no schema", `on.connect = () => send({ type: "ended", run: 1 });`, /cannot|unreadable message/],
    [
      "speaks another protocol",
      `on.hello = () => send({ type: "hello", protocol: 99, pid: 0, scheduling: "" });`,
      /protocol 99/,
    ],
  ])("and %s is ended, said to be lost, and heard no more", async (_, script, why) => {
    await started(script);
    const problem = once(client, "problem");
    const lost = once(client, "lost");
    const refused = expect(connect()).rejects.toMatchObject({ code: "bench-process-lost" });
    expect((await lost)[0]).toMatch(why);
    expect((await problem)[0].problem.message).toMatch(why);
    await refused;
    expect(client.isLost).toBe(true);
    expect(await client.cut("a test")).toMatchObject({ taken: false });
  });
});

test("a stop raises the epoch as a cut does: a run that was asked for before it does not begin", async () => {
  await started("");
  await connect();
  const { token } = client.epoch;
  await client.stop("a test");
  expect(client.epoch.hasRisenSince(token)).toBe(true);
});
