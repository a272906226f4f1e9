import { expect, test, vi } from "vitest";
import { button, openAt, page, realPages, seen, serve, simulated } from "./real-page.ts";

vi.setConfig({ testTimeout: 180_000 });
realPages();

interface Asked {
  diagnosis: { held: string | null; faults: { element: string; kind: string; probability: number }[] };
  answered: { to: string; answer: string }[];
}

test("hunts answered wrongly are answered anew or taken back: the diagnosis is then as if they had never been wrong", async () => {
  const bench = await simulated("normal");
  const served = await serve(bench);
  const file = async (job: string, event: object): Promise<void> => {
    const reply = await fetch(`http://127.0.0.1:${served.port}/api/jobs/${job}/events`, {
      method: "POST",
      headers: { authorization: `Bearer ${served.token}`, "content-type": "application/json" },
      body: JSON.stringify({ id: crypto.randomUUID(), event }),
    });
    expect(reply.status).toBe(200);
  };
  const asked = async (job: string): Promise<Asked> =>
    JSON.parse((await served.ask(`/api/jobs/${job}/diagnosis`)).text) as Asked;
  const low = {
    kind: "cold-readings",
    ohms: { ...bench.simulation.coldOhms, aux: 20 },
    by: "hand",
    boardCelsius: null,
  };
  const jobWith = async (title: string, answers: Record<string, string>): Promise<string> => {
    const job = await served.newJob(title);
    await file(job, low);
    for (const [to, answer] of Object.entries(answers)) await file(job, { kind: "answer", to, answer });
    return job;
  };
  const wrong = await jobWith("Kestrel K2, warm spot", { "gradient aux": "to-a-spot", "inject aux": "part" });
  const right = await asked(await jobWith("Kestrel K2, as it is", { "gradient aux": "none", "inject aux": "none" }));
  const onlyOne = await asked(await jobWith("Kestrel K2, one hunt", { "gradient aux": "none" }));
  expect((await asked(wrong)).diagnosis.faults[0]).not.toEqual(right.diagnosis.faults[0]);

  await openAt(served.url);
  // Opening a job is asked first while nobody knows yet what is on.
  await seen("Nothing is on");
  await page.evaluate(`location.hash = "#/job/${wrong}/probe"`);
  await page.locator("page-head").getByText("Kestrel K2, warm spot").waitFor();
  const answers = page.getByRole("region", { name: "Answers so far" });
  const correct = async (to: string, choice: string): Promise<void> => {
    await answers.getByRole("button", { name: new RegExp(`^That was wrong\\s*: ${to}`) }).click();
    await answers.getByLabel("It should be").selectOption(choice);
    // Without a reason nothing is filed.
    await answers.getByLabel("Why").fill(" ");
    await button("File the correction").click();
    await seen("Say why");
    await answers.getByLabel("Why").fill("the warm spot was the lamp");
    await button("File the correction").click();
    await answers.getByLabel("It should be").waitFor({ state: "detached" });
  };
  await correct("gradient aux", "none");
  await correct("inject aux", "none");
  const folder = process.env["PICTURES"];
  if (folder !== undefined) await answers.scrollIntoViewIfNeeded();
  if (folder !== undefined) await page.screenshot({ path: `${folder}/answers.png` });
  expect((await asked(wrong)).diagnosis).toEqual(right.diagnosis);
  await correct("inject aux", "taken-back");
  await expect.poll(() => answers.innerText()).not.toContain("inject aux");
  expect((await asked(wrong)).diagnosis).toEqual(onlyOne.diagnosis);

  // The record has what was said at first, and each correction of it.
  const { log } = JSON.parse((await served.ask(`/api/jobs/${wrong}`)).text) as {
    log: { event: { kind: string; answer?: string } }[];
  };
  expect(log.flatMap(({ event }) => (event.kind === "answer" ? [event.answer] : []))).toEqual(["to-a-spot", "part"]);
  expect(log.filter(({ event }) => event.kind === "correction")).toHaveLength(3);
});
