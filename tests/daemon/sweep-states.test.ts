import { expect, test } from "vitest";
import { loadScenario } from "../../src/simulator/load-scenario.ts";
import { type HandDoes, SweepRig } from "./sweep-rig.ts";

/** What waits for the key on this board; in the scenario the core does not start and takes the rest of these along. */
const LATER = ["core", "mem", "mem-vpp", "power-good", "reset"];

async function swept(hand?: HandDoes): Promise<{ rig: SweepRig; done: Awaited<ReturnType<SweepRig["run"]>>["done"] }> {
  const { scenario, board } = await loadScenario("partly-up");
  if (board === null) throw new Error("the scenario has a board");
  const states = {
    plugged: {
      after: "the adapter is plugged in",
      up: Object.keys(board.rails).filter((rail) => !LATER.includes(rail)),
    },
    on: { after: "the power key is pressed", up: LATER },
  };
  const rig = await SweepRig.start({
    scenario: { ...scenario, board: { ...board, states } },
    ...(hand === undefined ? {} : { hand }),
  });
  try {
    const { done } = await rig.run();
    return { rig, done };
  } finally {
    await rig.close();
  }
}

test("rails that come up after the power key are no fault before it was pressed, and the sweep asks for the key", async () => {
  const { rig, done } = await swept();
  for (const rail of done.rails) {
    const isLater = LATER.includes(rail.rail);
    expect({ rail: rail.rail, verdict: rail.verdict }).toEqual({
      rail: rail.rail,
      verdict: isLater ? "not-measured" : "pass",
    });
    if (isLater) expect(rail).toMatchObject({ said: "cannot be judged" });
    if (rail.rail === "core")
      expect(rail.because[0]).toMatch(
        /core reads .*cannot be judged: it comes up (only )?after the power key is pressed/,
      );
  }
  expect(
    rig
      .of("hint")
      .map((each) => each.text)
      .join("\n"),
  ).toMatch(/comes up (only )?after the power key is pressed. Do that now, and type "key"/);
  expect(done.diagnosis?.notes.join(" ")).toMatch(
    /core at .* cannot be judged: it comes up (only )?after the power key is pressed/,
  );
  expect(rig.marks).toEqual([]);
});

test("once the key was pressed and said, they are judged: the core that stays down is a fault", async () => {
  const { rig, done } = await swept((line, { desk }) => {
    if (line.event === "hint" && line.text.includes('type "key"')) expect(desk.mark(null)).toBeNull();
    return undefined;
  });
  expect(rig.marks).toEqual([{ text: "the power key is pressed", state: "on" }]);
  expect(done.readings?.state).toBe("on");
  const verdicts = Object.fromEntries(done.rails.map((each) => [each.rail, each.verdict]));
  expect(verdicts).toMatchObject({ core: "fail", mem: "fail" });
  expect(done.diagnosis?.faults[0]?.element).toBe("core");
  // The last state of power is reached: there is no key to press any more.
  expect(rig.of("mark")).toHaveLength(1);
});

test("a crystal's volts are told as a bias, not as a clock that runs", async () => {
  const { done } = await swept();
  const clock = done.rails.find((each) => each.rail === "clock");
  expect(clock).toMatchObject({ verdict: "pass", said: "bias present" });
  expect(clock?.because[0]).toContain("does not prove that it swings");
});
