import { expect, test, vi } from "vitest";
import { dropped } from "./drop-file.ts";
import { button, openAt, page, realPages, serve, simulated, turnTo } from "./real-page.ts";

vi.setConfig({ testTimeout: 120_000 });
realPages();

const RESULTS = {
  tests: [
    { name: "host-boots", result: "pass", passed: 5, of: 5, by: "rack 2" },
    { name: "memory", result: "fail", addresses: ["0x7f3a0000"] },
  ],
};

test("a results file that is dropped is filed as tests; a damaged one says what is wrong and is kept", async () => {
  const bench = await simulated("normal");
  const served = await serve(bench);
  await openAt(served.url);
  await page.getByLabel("Title").fill("Kestrel K2, tested in the rack");
  await button("Open the job").click();
  await page.locator("page-head").getByText("Kestrel K2, tested in the rack").waitFor();
  const host = page.getByRole("region", { name: "At the test host" });
  await dropped("results.json", JSON.stringify(RESULTS));
  await host.getByText("2 tests of results.json filed:").waitFor();
  const tests = page.getByRole("region", { name: "Tests at the host" });
  await tests.getByText("host-boots: pass, 5 of 5, by rack 2").waitFor();
  await tests.getByText("memory: fail, fails at 0x7f3a0000").waitFor();
  const folder = process.env["PICTURES"];
  if (folder !== undefined) await page.screenshot({ path: `${folder}/results.png` });

  const wrong = { tests: [{ name: "load", result: "passed" }] };
  await dropped("wrong.json", JSON.stringify(wrong));
  await host
    .getByText(/wrong\.json is stored, but none of its tests was filed: tests\[0\]\.result is "passed"/)
    .waitFor();
  await dropped("results.json", JSON.stringify(RESULTS));
  await host.getByText("results.json was taken in before; its tests are not filed twice.").waitFor();
  if (folder !== undefined) await page.screenshot({ path: `${folder}/results-wrong.png` });

  await turnTo("Board");
  await button("Save wrong.json").waitFor();
  // The record, read by another way than the page, holds the tests that were sent over HTTP.
  const job = /job\/([0-9a-f-]{36})/.exec(page.url())?.[1] ?? "";
  const { log } = JSON.parse((await served.ask(`/api/jobs/${job}`)).text) as {
    log: { event: { kind: string; test?: { name: string }; name?: string } }[];
  };
  expect(log.flatMap(({ event }) => (event.kind === "test" ? [event.test?.name] : []))).toEqual([
    "host-boots",
    "memory",
  ]);
  expect(log.flatMap(({ event }) => (event.kind === "attachment" ? [event.name] : []))).toEqual([
    "results.json",
    "wrong.json",
    "results.json",
  ]);
});
