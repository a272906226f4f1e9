import { spawn } from "node:child_process";
import { once } from "node:events";
import { createServer } from "node:net";
import { afterEach, expect, test, vi } from "vitest";
import type { WireSnapshot } from "../../shared/wire.ts";
import { isOn, type PoweredBench, poweredBench, untilTrue } from "./powered-bench.ts";
import { endPrograms, runProgram, type TestFolder, testFolder } from "./run-program.ts";
import { askedOf, isStarted, type Script, serveProgram, waiverFor } from "./served-bench.ts";

// In real time, on a machine that may be busy.
vi.setConfig({ testTimeout: 180_000 });

/** Sends six photographs of 20 MiB, two at a time, and says what each pair was answered with. */
const PHONE = `
  const [origin, pass] = process.argv.slice(1);
  const headers = { origin, authorization: "Bearer " + pass, "content-type": "application/octet-stream" };
  const signature = [137, 80, 78, 71, 13, 10, 26, 10];
  const send = async (each) => {
    const body = Buffer.alloc(20 * 1024 * 1024, each);
    body.set(signature);
    const reply = await fetch(origin + "/photographs?name=q" + each + ".png", { method: "POST", headers, body });
    return reply.status;
  };
  for (let each = 0; each < 6; each += 2) console.log((await Promise.all([send(each), send(each + 1)])).join(" "));
`;
let bench: PoweredBench | null = null;
let folder: TestFolder | null = null;
afterEach(async () => {
  await endPrograms();
  await bench?.close();
  await folder?.remove();
  [bench, folder] = [null, null];
});

/** The board held on by this script, in control. */
async function hold(by: Script, lease: number, simulation: PoweredBench["simulation"]): Promise<void> {
  const asked = askedOf(simulation, { keepOn: true });
  const preview = await by.preview(asked);
  const started = await by.start({ ...asked, waiver: waiverFor(preview) }, preview, lease);
  if (!isStarted(started)) throw new Error(`not started: ${JSON.stringify(started)}`);
  let run = (await by.client.next("run-state")).run;
  while (run.run !== started.run || (run.stage !== "watch" && run.outcome === null))
    run = (await by.client.next("run-state")).run;
}

test("large photographs that come in while a board is held on keep neither it from being watched nor the cut waiting", {
  retry: 1,
}, async () => {
  bench = await poweredBench({ scenario: "single-feed" });
  const { path } = bench.folder;
  const files = ["--bench", `${path}/bench.json`, "--board", `${path}/board.json`];
  const served = await serveProgram([...files, "--phone-listen", "127.0.0.1:0"], `${path}/data`);
  const { phone } = JSON.parse(served.program.said.out.split("\n")[0] ?? "") as { phone: string[] };
  const origin = new URL(phone[0] ?? "").origin;
  const by = await served.script();
  const lease = await by.takeLease();
  const job = await served.newJob("Wren W1");
  await hold(by, lease, bench.simulation);
  const nowMs = (await by.client.next("beat")).nowMs;
  by.client.send({ type: "phone-code", id: "code", lease, deadlineMs: nowMs + 8_000, job });
  const made = await by.client.answerTo("code");
  if (made.result !== "phone-code") throw new Error(JSON.stringify(made));
  const post = (where: string, body: string | Buffer, headers: Record<string, string>): Promise<Response> =>
    fetch(`${origin}${where}`, { method: "POST", body: body as string, headers: { origin, ...headers } });
  const { pass } = (await (
    await post("/code", JSON.stringify({ code: made.code }), { "content-type": "application/json" })
  ).json()) as { pass: string };
  const { simulation } = bench;
  // Six of them, two at a time, by a process of its own: the simulated supply in this one must go on answering.
  const sent = spawn(process.execPath, ["--input-type=module", "--eval", PHONE, origin, pass], { stdio: "pipe" });
  let said = "";
  sent.stdout.setEncoding("utf8").on("data", (text: string) => {
    said += text;
  });
  await untilTrue(() => said.includes("200 200\n200 200\n"));
  const { run } = JSON.parse((await served.ask("/api/snapshot")).text) as WireSnapshot;
  expect([run?.outcome, isOn(simulation)]).toEqual([null, true]);
  const cutAt = performance.now();
  expect(await by.cut()).toEqual({ result: "done" });
  await untilTrue(() => !isOn(simulation));
  // The usual cut takes some tens of milliseconds; waiting behind a photograph would take as long as it takes.
  expect(performance.now() - cutAt).toBeLessThan(500);
  await untilTrue(() => said === "200 200\n".repeat(3));
  const sheet = await served.ask(`/api/jobs/${job}/sheet`);
  expect(sheet.text.match(/by phone/g)).toHaveLength(6);
});

test("an address that is none, or is taken, ends the daemon with what it should be, and nothing was touched", async () => {
  folder = await testFolder();
  const data = `${folder.path}/data`;
  for (const wrong of ["8123", "bench.local:8123", "127.0.0.1:99999", "127.0.0.1", "::1:80", "[127.0.0.1]:80"]) {
    const end = await runProgram(["serve", "--data", data, "--phone-listen", wrong]);
    expect([wrong, end.code]).toEqual([wrong, 2]);
    expect(end.err).toContain("192.168.1.20:8123");
  }
  const taken = createServer().listen(0, "127.0.0.1");
  await once(taken, "listening");
  const address = taken.address();
  const port = typeof address === "object" && address !== null ? address.port : 0;
  const end = await runProgram(["serve", "--data", data, "--phone-listen", `127.0.0.1:${port}`]);
  expect(end.code).toBe(2);
  expect(end.err).toMatch(new RegExp(`Cannot listen on 127.0.0.1 port ${port}: another program has it`));
  taken.close();
});
