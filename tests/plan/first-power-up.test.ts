import { describe, expect, test } from "vitest";
import { Plan } from "../../shared/plan.ts";
import { converter, type ModelFeed, resistor, runOnModel, together } from "./bench-model.ts";
import { kestrelPlan } from "./example-plan.ts";

const healthy = (): Record<string, ModelFeed> => ({
  slot3v3: { farads: 0.0003, leadOhms: 0.05, load: resistor(900) },
  slot12: { farads: 0.0008, leadOhms: 0.05, load: together(resistor(8000), converter(6, [7.5, 7])) },
  aux: { farads: 0.002, leadOhms: 0.05, load: together(resistor(12_400), converter(14, [7.5, 7])) },
});

describe("a first power-up of a healthy board", () => {
  test("goes through every stage and ends with everything off, as planned", () => {
    const run = runOnModel({ plan: kestrelPlan(), feeds: healthy() });
    expect(run.outcome).toEqual({
      ended: "as-planned",
      trip: null,
      output: "off",
      limitToTry: null,
      raises: 0,
      reachedStage: "off",
    });
    expect(run.effects.at(-1)?.effect.effect).toBe("finish");
  });

  test("the compiled plan is a plan by its own schema", () => {
    expect(Plan.parse(kestrelPlan())).toEqual(kestrelPlan());
  });
});
