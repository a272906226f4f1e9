import { describe, expect, test } from "vitest";
import { watchedRun } from "./example-run.ts";
import { button, cuts, off, on, openPages, rig, seen, turnTo } from "./open-pages.ts";

openPages();

const chooseFootKey = async (key: string): Promise<void> => {
  await rig.page.getByText("Settings", { exact: true }).click();
  await button("Foot key: none").click();
  await rig.page.keyboard.press(key);
  await button(`Foot key: ${key}`).waitFor();
  await rig.page.getByText("Settings", { exact: true }).click();
};

describe("the cut", () => {
  test("is on Escape from anywhere, without control, also out of a text field", async () => {
    await rig.visit();
    await turnTo("Cold");
    await rig.page.getByLabel("Ohms at aux:core").click();
    await rig.page.keyboard.press("Escape");
    await seen("Cut sent, not yet proved.");
    expect(cuts()).toBeGreaterThan(0);
  });

  test("is on no key but Escape before a foot key was chosen: the space bar is a space, also in a note while the board is on", async () => {
    await rig.visit();
    await turnTo("Cold");
    await rig.saying(
      () => rig.facade.say(on()),
      async () => {
        await seen("An output is on");
        const field = rig.page.getByLabel("Other points, one a line");
        await field.click();
        await rig.page.keyboard.type("Q12 gets warm");
        expect(await field.inputValue()).toBe("Q12 gets warm");
      },
    );
    expect(cuts()).toBe(0);
  });

  test("is on a chosen space bar while anything is on, but not in a text field; otherwise the space bar is a space", async () => {
    await rig.visit();
    await rig.saying(
      () => rig.facade.say(off()),
      () => seen("Nothing is on"),
    );
    await chooseFootKey("Space");
    await turnTo("Power");
    const box = rig.page.getByLabel("All returns joined");
    await box.focus();
    await rig.page.keyboard.press("Space");
    expect([await box.isChecked(), cuts()]).toEqual([true, 0]);
    await rig.saying(
      () => rig.facade.say(on()),
      async () => {
        await seen("An output is on");
        await turnTo("Cold");
        const field = rig.page.getByLabel("Other points, one a line");
        await field.click();
        await rig.page.keyboard.type("a b");
        expect([await field.inputValue(), cuts()]).toEqual(["a b", 0]);
        await rig.page.getByRole("tab", { name: /^Power/ }).focus();
        await rig.page.keyboard.press("Space");
        await seen("Cut sent, not yet proved.");
      },
    );
    expect(await box.isChecked()).toBe(true);
  });

  test("held down is sent once by each way", async () => {
    await rig.visit();
    for (let each = 0; each < 20; each++) await rig.page.keyboard.down("Escape");
    await rig.page.keyboard.up("Escape");
    await seen("Cut sent, not yet proved.");
    await expect.poll(cuts).toBe(2);
  });

  test("goes by plain HTTP where the socket takes nothing", async () => {
    await rig.page.routeWebSocket(/\/live$/, (socket) => {
      const server = socket.connectToServer();
      socket.onMessage((message) => {
        if (!String(message).includes('"cut"')) server.send(message);
      });
    });
    await rig.visit();
    await rig.page.keyboard.press("Escape");
    await seen("Cut sent, not yet proved.");
    expect(cuts()).toBe(1);
  });

  test("that reaches nobody says to use the supply's own switch", async () => {
    await rig.visit();
    await rig.wire.close();
    await rig.page.keyboard.press("Escape");
    await seen("The cut did not get through. Switch the supply off by its own switch, now.");
    await rig.serve();
  });

  test("can be moved to the key of a foot switch", async () => {
    await rig.visit();
    await rig.saying(
      () => rig.facade.say(off()),
      async () => {
        await chooseFootKey("F8");
      },
    );
    expect(cuts()).toBe(0);
    await rig.saying(
      () => rig.facade.say(on()),
      async () => {
        await seen("An output is on");
        await rig.page.keyboard.press("F8");
        await seen("Cut sent, not yet proved.");
      },
    );
  });

  test("stays in the same place from idle to alarm", async () => {
    await rig.visit();
    const places: string[] = [];
    const note = async () => places.push(JSON.stringify(await button(/^CUT/).boundingBox()));
    await rig.saying(
      () => rig.facade.say(off()),
      () => seen("Nothing is on"),
    );
    await note();
    rig.facade.say({ type: "run-state", run: watchedRun() });
    await seen("End in order");
    await note();
    rig.facade.say({ type: "alarm", alarm: { message: 'Supply "psu" did not confirm off.', output: "unknown" } });
    await seen("OFF BY HAND, NOW");
    await note();
    expect(new Set(places).size).toBe(1);
  });
});
