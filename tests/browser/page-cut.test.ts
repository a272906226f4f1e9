import { describe, expect, test } from "vitest";
import { watchedRun } from "./example-run.ts";
import { button, cuts, off, on, openPages, rig, seen, turnTo } from "./open-pages.ts";

openPages();

describe("the cut", () => {
  test("is on Escape from anywhere, without control, also out of a text field", async () => {
    await rig.visit();
    await turnTo("Cold");
    await rig.page.getByLabel("Ohms at aux:core").click();
    await rig.page.keyboard.press("Escape");
    await seen("Cut sent, not yet proved.");
    expect(cuts()).toBeGreaterThan(0);
  });

  test("is on the space bar while anything is on, whatever has the focus; otherwise the space bar is a space", async () => {
    await rig.visit();
    await rig.saying(
      () => rig.facade.say(off()),
      () => seen("Nothing is on"),
    );
    await turnTo("Permit");
    const box = rig.page.getByLabel("All returns joined");
    await box.focus();
    await rig.page.keyboard.press("Space");
    expect([await box.isChecked(), cuts()]).toEqual([true, 0]);
    await rig.saying(
      () => rig.facade.say(on()),
      async () => {
        await seen("An output is on, or not known to be off");
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
        await button("Foot key: Space").click();
        await rig.page.keyboard.press("F8");
        await button("Foot key: F8").waitFor();
      },
    );
    expect(cuts()).toBe(0);
    await rig.saying(
      () => rig.facade.say(on()),
      async () => {
        await seen("An output is on, or not known to be off");
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
    await seen("did not confirm off");
    await note();
    expect(new Set(places).size).toBe(1);
  });
});
