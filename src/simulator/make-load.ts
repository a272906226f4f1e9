import type { ScenarioLoad } from "../../shared/files/scenario-file.ts";
import type { BoardLoad } from "./board-load.ts";
import { converterLoad } from "./load-converter.ts";
import { biasLoad, fusingShortLoad, junctionLoad, lateShortLoad, resistorLoad } from "./load-passive.ts";
import { retryLoad } from "./load-retry.ts";
import { fanLoad, intermittentLoad, leakLoad } from "./load-slow.ts";
import type { Random } from "./random.ts";

/** The load a scenario describes. */
export function makeLoad(load: ScenarioLoad, random: Random): BoardLoad {
  switch (load.load) {
    case "resistor":
      return resistorLoad(load.ohms);
    case "fusing-short":
      return fusingShortLoad(load);
    case "late-short":
      return lateShortLoad(load);
    case "shorted-high-side":
      return resistorLoad(load.pathOhms + load.coreOhms);
    case "junction":
      return junctionLoad(load.volts, load.ohms);
    case "bias":
      return biasLoad(load.amps, load.fromVolts);
    case "converter":
      return converterLoad(load);
    case "fan":
      return fanLoad(load);
    case "retry":
      return retryLoad(load);
    case "leak":
      return leakLoad(load);
    case "intermittent":
      return intermittentLoad(load, random);
  }
}
