import { describe, expect, test } from "vitest";
import { exampleReading, exampleSnapshot } from "../wire/example-snapshot.ts";
import { button, card, on, openPages, rig, seen, turnTo } from "./open-pages.ts";

openPages();

describe("live figures", () => {
  test("show volts, amps, watts, regulation and output of every feed", async () => {
    await rig.visit();
    await turnTo("Power");
    const limiting = {
      ...on(),
      feeds: on().feeds.map((feed) =>
        feed.feed === "aux" ? { ...feed, readings: [exampleReading(8_650, 4.1, 3, "cc")] } : feed,
      ),
    };
    await rig.saying(
      () => rig.facade.say(limiting),
      async () => {
        await expect.poll(() => card("aux").innerText()).toMatch(/aux\s+ON\s+4\.100\s*V\s*3\.000\s*A\s*12\.30 W\s+CC/);
        await expect.poll(() => card("slot12").innerText()).toMatch(/ON\s+12\.01\s*V\s*0\.352\s*A\s*4\.23 W\s+CV/);
      },
    );
  });

  test("are marked stale in words as soon as they are not live, with their age, which counts", async () => {
    await rig.visit();
    const live = card("aux").and(rig.page.locator('[data-live="yes"]'));
    await rig.saying(
      () => rig.facade.say(on()),
      () => live.waitFor(),
    );
    const stale = card("aux").locator(".stale");
    await stale.waitFor();
    expect(await card("aux").getAttribute("data-live")).toBe("no");
    const first = await stale.innerText();
    // A low strip has no room for the time of day, which is in the badge for whoever points at it.
    expect(first).toMatch(/^stale (\d+ ms|\d+\.\d s)$/);
    expect(await stale.textContent()).toMatch(/ \(\d\d:\d\d:\d\d\)$/);
    expect(await stale.getAttribute("title")).toMatch(/^stale .* \(\d\d:\d\d:\d\d\)$/);
    const over = await stale.boundingBox();
    for (const figure of ["volts", "amps"]) {
      const box = await card("aux").locator(`[data-figure="${figure}"]`).boundingBox();
      expect((over?.x ?? 0) + (over?.width ?? 0)).toBeLessThanOrEqual((box?.x ?? 0) + 1);
    }
    await expect.poll(() => stale.innerText()).not.toBe(first);
    await rig.saying(
      () => rig.facade.say(on()),
      () => live.waitFor(),
    );
    expect(await stale.count()).toBe(0);
  });

  test("of a reading that is no number are words", async () => {
    await rig.visit();
    await turnTo("Power");
    const over = {
      ...on(),
      feeds: [
        {
          feed: "aux",
          output: "on" as const,
          ageMs: 5,
          readings: [{ ...exampleReading(1, 0, 0), volts: { kind: "overload" as const }, watts: null }],
        },
      ],
    };
    await rig.saying(
      () => rig.facade.say(over),
      async () => {
        await expect.poll(() => card("aux").locator('[data-figure="volts"]').innerText()).toContain("over");
        expect(await card("aux").locator('[data-figure="watts"]').innerText()).toBe("– W");
      },
    );
  });
});

describe("the connection", () => {
  test("that is lost says so, takes outputs as not known, and comes back by itself", async () => {
    await rig.visit();
    await rig.saying(
      () => rig.facade.say(on()),
      () => card("aux").getByText("ON", { exact: true }).waitFor(),
    );
    await rig.wire.close();
    await seen("The daemon does not answer.");
    expect(await card("aux").innerText()).toContain("?");
    expect(await card("aux").getAttribute("data-live")).toBe("no");
    expect(await button("Energise").count()).toBe(0);
    rig.facade.present = {
      ...exampleSnapshot(),
      board: { name: "Kestrel K2 again", isDefault: false, notes: [], cold: [], tree: [], photos: [] },
    };
    await rig.serve();
    await seen("Kestrel K2 again");
    await rig.page.locator('.phase[data-phase="live"]').waitFor();
    expect(await rig.page.getByText("The daemon does not answer.").count()).toBe(0);
  });

  test("to a daemon of another protocol shows a banner and no controls", async () => {
    await rig.page.routeWebSocket(/\/live$/, (socket) => {
      socket.send(JSON.stringify({ type: "hello", protocol: 99, nowMs: 0 }));
    });
    await rig.page.goto(rig.wire.url);
    await seen("different versions");
    expect(await rig.page.locator("start-form:visible").count()).toBe(0);
    expect(await button("Take control").count()).toBe(0);
  });

  test("opened by an address that was used says where to get another; its own session opens it again", async () => {
    await rig.visit();
    await rig.page.reload();
    await rig.page.locator('.phase[data-phase="live"]').waitFor();
    expect(rig.page.url()).not.toContain("k=");
    await rig.page.evaluate("sessionStorage.clear()");
    await rig.page.goto("about:blank");
    await rig.page.goto(rig.wire.url);
    await seen("already used, is too old");
    expect(await button(/^CUT/).isDisabled()).toBe(true);
  });

  test("of a viewer offers the cut and no control", async () => {
    await rig.visit(rig.wire.newUrl("viewer"));
    await seen("this page watches");
    await button(/^CUT/).click();
    await seen("Cut sent, not yet proved.");
    expect(rig.facade.asked.map((each) => [each.command.type, each.by.role])).toContainEqual(["cut", "viewer"]);
  });
});

describe("an alarm", () => {
  test("stays in words when its sound was silenced, and is not silent for another", async () => {
    await rig.visit();
    const alarm = (supply: string) => ({
      message: `Supply "${supply}" did not confirm off.`,
      output: "unknown" as const,
    });
    rig.facade.say({ type: "alarm", alarm: alarm("psu") });
    await button("I have heard it: silence").click();
    await seen("alarm heard; the output is not off yet");
    expect(await rig.page.getByRole("alert").innerText()).toContain("OFF BY HAND, NOW");
    await rig.page.getByText("Why", { exact: true }).click();
    await seen('Supply "psu" did not confirm off.');
    rig.facade.say({ type: "alarm", alarm: alarm("second") });
    await button("I have heard it: silence").waitFor();
    rig.facade.say({ type: "alarm", alarm: null });
    await expect.poll(() => rig.page.getByRole("alert").count()).toBe(0);
  });
});
