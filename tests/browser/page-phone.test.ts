import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { hashOf } from "../../web/page/address.ts";
import { boardPhoto } from "./board-photo.ts";
import { button, openPages, rig, seen } from "./open-pages.ts";
import { expectAccessible } from "./page-axe.ts";
import { SCENE_JOB } from "./page-scenes.ts";

openPages({ phone: true });

const openJob = (job: string): Promise<unknown> =>
  rig.page.evaluate(`location.hash = ${JSON.stringify(hashOf(job, "board"))}`);

/** The page in control of a job, with a code made: the code as it is shown. */
async function makeCode(): Promise<string> {
  await rig.visit(rig.wire.newUrl());
  await openJob(SCENE_JOB);
  await rig.page.getByText("Photographs by phone").click();
  await seen("Only the page in control makes a code.");
  await button("Take control").first().click();
  await button("Make a code for this job").click();
  return await rig.page.locator("phone-card .code").innerText();
}

/** A phone's browser: narrow, with fingers, and nothing of the other page's. */
async function phone(): Promise<Page> {
  const browser = rig.page.context().browser();
  if (browser === null) throw new Error("no browser");
  const context = await browser.newContext({ viewport: { width: 390, height: 800 }, hasTouch: true, isMobile: true });
  return await context.newPage();
}

const PICTURE = { name: "q12.png", mimeType: "image/png", buffer: Buffer.from(boardPhoto()) };

describe("a phone", () => {
  test("opens the address, types the code, sends a photograph with a caption, and the page counts it", async () => {
    const code = await makeCode();
    await expectAccessible("a code for a phone");
    const address = await rig.page.locator("phone-card .address").innerText();
    expect(address).toBe(rig.wire.phoneAddresses[0]);
    await rig.page.getByRole("img", { name: "Address and code as a picture" }).waitFor();
    const far = await phone();
    const complaints: string[] = [];
    far.on("pageerror", (error) => complaints.push(String(error)));
    await far.goto(address);
    await far.getByLabel("The code on the bench's page").fill(code);
    await far.getByRole("button", { name: "Begin" }).click();
    const file = far.getByLabel("Photograph", { exact: true });
    expect(await file.getAttribute("capture")).toBe("environment");
    await file.setInputFiles(PICTURE);
    await far.getByLabel(/^What it shows/).fill("burnt at Q12");
    await far.getByRole("button", { name: "Send" }).click();
    await far.getByText("burnt at Q12: filed with the job").waitFor();
    await seen("A phone has it. Photographs filed: 1.");
    expect(rig.desk.filed).toEqual([{ name: "q12.png", caption: "burnt at Q12", bytes: PICTURE.buffer.length }]);
    // The camera may push the form out of a phone's memory.
    await far.reload();
    await far.getByRole("button", { name: "Send" }).waitFor();
    await button("Withdraw the code").click();
    await seen("The last code was withdrawn.");
    await far.getByLabel("Photograph", { exact: true }).setInputFiles(PICTURE);
    await far.getByRole("button", { name: "Send" }).click();
    await far.getByText(/^The code is over\. Nothing more was filed/).waitFor();
    await far.getByRole("button", { name: "Begin" }).waitFor();
    expect(rig.desk.filed).toHaveLength(1);
    expect(complaints).toEqual([]);
    await far.context().close();
  });

  test("that followed the picture is let in at once; a second phone with the same code is not", async () => {
    const code = await makeCode();
    const [first, second] = [await phone(), await phone()];
    await first.goto(`${rig.wire.phoneAddresses[0]}#c=${code}`);
    await first.getByRole("button", { name: "Send" }).waitFor();
    expect(first.url()).not.toContain(code);
    await second.goto(`${rig.wire.phoneAddresses[0]}#c=${code}`);
    await second.getByText(/was used by another phone/).waitFor();
    expect(await second.getByRole("button", { name: "Send" }).isVisible()).toBe(false);
    for (const each of [first, second]) await each.context().close();
  });

  test("loses its code when the page opens another job", async () => {
    await makeCode();
    await openJob(SCENE_JOB.replace(/.$/, "1"));
    await seen("The last code was withdrawn.");
  });
});
