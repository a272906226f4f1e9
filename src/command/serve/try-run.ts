import path from "node:path";
import { loadScenario } from "../../simulator/load-scenario.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { type Ending, endings } from "../input/endings.ts";
import { EXIT } from "../input/exit-code.ts";
import { powerup } from "../power/powerup-run.ts";
import { say } from "../text/people.ts";
import type { TryOptions } from "../try.ts";
import { serve } from "./serve-run.ts";
import { startSimulationProcess } from "./simulation-process.ts";

/** Simulates a bench, does one first power-up on it, and serves its page unless told to do it once. */
export async function tryOut(options: TryOptions): Promise<number> {
  const { scenario, board } = await loadScenario(options.scenario);
  const ending = endings();
  let asked: Ending | null = null;
  ending.again.add((each) => {
    asked ??= each;
  });
  const isAsked = (): boolean => {
    if (asked !== null && asked.error !== null) throw asked.error;
    return asked !== null;
  };
  const simulation = await startSimulationProcess(options);
  const documents = { bench: simulation.bench, board };
  const data = options.data ?? path.join(dataDirectory(), "demonstration");
  const json = options.json === true ? { json: true } : {};
  try {
    if (isAsked()) return EXIT.asPlanned;
    say(
      "Tern Street Electronics repairs a Kestrel K2. Supply, meter and board are simulated; nothing real is energised.",
    );
    say(`The board on the bench: ${scenario.title}.`);
    const code = await powerup({
      bench: "",
      documents,
      data,
      ohms: scenario.coldOhms,
      ...(scenario.conditions.host === undefined ? {} : { host: scenario.conditions.host }),
      ...(scenario.conditions.fans === undefined ? {} : { fans: scenario.conditions.fans }),
      cooler: "cooler",
      checked: ["polarity", "return", "sideband", "unplugged"],
      ...(options.watch === undefined ? {} : { watch: options.watch }),
      waive: "a demonstration on a simulated bench",
      yes: true,
      ...json,
    });
    if (options.once === true) return code;
    // Whoever ends it while the board is powered wants no page.
    if (isAsked()) return code === EXIT.outputUnknown ? code : EXIT.asPlanned;
    return await serve({ data, port: options.port, documents, ...json });
  } finally {
    await simulation.close();
    ending.release();
  }
}
