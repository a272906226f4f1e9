import type { Locator } from "playwright-core";
import { describe, expect, test } from "vitest";
import { examplePermit, examplePreview } from "../wire/example-snapshot.ts";
import { button, cuts, off, openPages, rig, seen, turnTo } from "./open-pages.ts";

openPages();

describe("a start", () => {
  const open = () => examplePreview();
  const prepare = async (preview = open()): Promise<void> => {
    rig.facade.reply = async (command) =>
      command.type === "preview" ? { result: "preview", preview } : { result: "started", run: "run-1" };
    await rig.visit();
    await turnTo("Cold");
    await rig.page.getByLabel("Ohms at aux", { exact: true }).fill("12.4k");
    await button("Go on to the permit").click();
    await button("Take control").last().click();
    await seen("In control");
    await seen("Cold readings typed in: aux 12.4 kΩ.");
    await rig.page.locator('select[name="host"]').selectOption("none");
    await rig.page.getByLabel("Polarity checked with a meter at the card end").check();
    await button("Check the permit").click();
    await seen("What will be energised");
  };

  test("asks for permit, reason and cautions, names feed, volts and limit, and sends what was shown", async () => {
    await prepare();
    const energise = button(/^Energise/);
    expect(await energise.innerText()).toBe(
      "Energise slot3v3 3.3 V, limit 0.5 A; slot12 12 V, limit 1 A; aux 12 V, limit 3 A",
    );
    await seen("Keep the supply's own switch in reach");
    await seen("2 of the permit's conditions are open.");
    expect(await energise.isDisabled()).toBe(true);
    for (const box of await rig.page.getByRole("checkbox", { name: /go on without it/ }).all()) await box.check();
    await seen("A waiver needs a reason of at least three letters.");
    await rig.page.getByLabel("Reason for going on without them").fill("no core pad in reach; keyed plug");
    await seen("The cautions are not confirmed.");
    expect(await energise.isDisabled()).toBe(true);
    await rig.page.getByLabel("I have read these, and they are met").check();
    await energise.click();
    const start = await rig.facade.asks("start-run");
    expect(start).toMatchObject({
      cautionsRead: true,
      confirmed: [
        { feed: "slot3v3", volts: 3.3, limitAmps: 0.5 },
        { feed: "slot12", volts: 12, limitAmps: 1 },
        { feed: "aux", volts: 12, limitAmps: 3 },
      ],
      request: {
        coldOhms: { aux: 12_400 },
        conditions: { host: "none", fans: "unknown", polarityChecked: true, commonReturn: null },
        waiver: { reason: "no core pad in reach; keyed plug", items: ["cold:aux:core", "polarity"] },
      },
    });
    expect(rig.facade.asked.at(-1)?.by.role).toBe("operator");
  });

  test("is not to be had where a reading says never to power, whatever is ticked", async () => {
    const permit = examplePermit();
    permit.items = [{ ...permit.items[2]!, state: "measured-bad", evidence: "41 Ω" }];
    await prepare(examplePreview(permit));
    await seen("measured bad: never power");
    await rig.page.getByLabel("I have read these, and they are met").check();
    await seen("A reading says never to power this board.");
    expect(await rig.page.getByRole("checkbox", { name: /go on without it/ }).count()).toBe(0);
    expect(await button(/^Energise/).isDisabled()).toBe(true);
  });

  test("that the bench refuses shows the bench's sentence, and the facts are still there", async () => {
    await prepare(examplePreview({ granted: true, items: [], refusedBecause: [] }));
    rig.facade.reply = async () => ({
      result: "refused",
      code: "changed",
      because: "The plan's limit for aux is 2 A, not 3 A; nothing was energised",
    });
    await rig.page.getByLabel("I have read these, and they are met").check();
    await button(/^Energise/).click();
    await seen("nothing was energised");
    await button("Back to the facts").click();
    expect(await rig.page.getByLabel("Polarity checked with a meter at the card end").isChecked()).toBe(true);
    await turnTo("Cold");
    expect(await rig.page.getByLabel("Ohms at aux", { exact: true }).inputValue()).toBe("12.4k");
  });

  test("needs control: without it nothing can be energised", async () => {
    rig.facade.reply = async () => ({
      result: "preview",
      preview: examplePreview({ granted: true, items: [], refusedBecause: [] }),
    });
    await rig.visit();
    await turnTo("Power");
    await button("Check the permit").click();
    await rig.page.getByLabel("I have read these, and they are met").check();
    await seen("This page is not in control.");
    expect(await button(/^Energise/).isDisabled()).toBe(true);
  });

  test("can be done with the keyboard alone", async () => {
    rig.facade.reply = async (command) =>
      command.type === "preview"
        ? { result: "preview", preview: examplePreview({ granted: true, items: [], refusedBecause: [] }) }
        : { result: "started", run: "run-1" };
    await rig.visit();
    await rig.saying(
      () => rig.facade.say(off()),
      async () => {
        await seen("Nothing is on");
        const tabTo = async (wanted: Locator): Promise<void> => {
          for (let each = 0; each < 60; each++) {
            if (await wanted.evaluate((element) => element.matches(":focus"))) return;
            await rig.page.keyboard.press("Tab");
          }
          throw new Error("the Tab key does not lead there");
        };
        await tabTo(button("Take control").first());
        await rig.page.keyboard.press("Enter");
        await seen("In control");
        await tabTo(rig.page.getByRole("tab", { name: /^Board/ }));
        await rig.page.keyboard.press("ArrowRight");
        await rig.page.keyboard.press("ArrowRight");
        await tabTo(button("Check the permit"));
        await rig.page.keyboard.press("Enter");
        await seen("What will be energised");
        await tabTo(rig.page.getByLabel("I have read these, and they are met"));
        await rig.page.keyboard.press("Space");
        await tabTo(button(/^Energise/));
        await rig.page.keyboard.press("Enter");
        expect((await rig.facade.asks("start-run")).cautionsRead).toBe(true);
      },
    );
    expect(cuts()).toBe(0);
  });

  test("typed with a cold reading that is none is told where", async () => {
    await rig.visit();
    await turnTo("Cold");
    await rig.page.getByLabel("Ohms at core", { exact: true }).fill("twelve");
    await seen('"twelve" at core is not a reading');
    await rig.page.getByLabel("Ohms at core", { exact: true }).fill("0.35");
    await rig.page.getByLabel("Other points, one a line").fill("aux = twelve");
    await button("Go on to the permit").click();
    await button("Check the permit").click();
    await seen('"aux = twelve" is not a cold reading');
    expect(rig.facade.asked).toEqual([]);
  });
});
