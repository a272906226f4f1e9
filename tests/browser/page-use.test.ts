import { expect, test, vi } from "vitest";
import { runProgram } from "../command/run-program.ts";
import { openAt, page, realPages, seen, serve, simulated, turnTo } from "./real-page.ts";

vi.setConfig({ testTimeout: 120_000 });
realPages();

test("what is set at the command line is on an open page at once", async () => {
  const bench = await simulated("normal");
  const served = await serve(bench);
  await openAt(served.url);
  await seen("Set once: nothing yet");
  const data = ["--data", `${bench.folder.path}/data`];
  const use = async (...words: string[]): Promise<void> => {
    expect((await runProgram(["use", ...words, ...data])).code).toBe(0);
  };
  await use("--host", "none", "--cooler", "block");
  await seen("Set once: Host: none, Cooler: block");
  await turnTo("Power");
  expect(await page.locator("start-form").getByLabel("Host").inputValue()).toBe("none");
  await use(`${bench.folder.path}/board.json`, "--forget", "host");
  await expect.poll(() => page.locator("start-form").getByLabel("Host").inputValue()).toBe("unknown");
  await turnTo("Board");
  await seen("Set once: board.json, Cooler: block");
  await use("--forget", "all");
  await seen("Set once: nothing yet");
});
