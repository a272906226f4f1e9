import { writeFile } from "node:fs/promises";
import { createInterface } from "node:readline";
import { BenchError } from "../../../shared/bench-error.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { ScenarioFile } from "../../../shared/files/scenario-file.ts";
import { classInWords } from "../../../shared/words/class-words.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { loadScenario, scenarioNames } from "../../simulator/load-scenario.ts";
import type { Dialect } from "../../simulator/simulated-supply.ts";
import { type Simulation, type SimulationOptions, startSimulation } from "../../simulator/start-simulation.ts";
import { usualBuffer, usualRecord } from "../../simulator/usual-record.ts";
import { realClock } from "../../system/real-clock.ts";
import { printAsIs, printDocument, say } from "../text/people.ts";

/** The time by which simulated instruments outlive the program that started them. */
const ORPHAN_MS = 5_000;

/** Prints what there is to choose from: name, title, what the draw should be called. */
async function listScenarios(json: boolean): Promise<void> {
  const scenarios = await Promise.all((await scenarioNames()).map((name) => loadScenario(name)));
  const rows = scenarios.map(({ name, scenario }) => ({ name, title: scenario.title, class: scenario.expected.class }));
  if (json) return printDocument(rows);
  printAsIs(rows.map((row) => `${row.name.padEnd(22)}${row.class.padEnd(14)}${row.title}\n`).join(""));
}

async function writeDocument(path: string, document: unknown): Promise<void> {
  try {
    await writeFile(path, `${JSON.stringify(document, null, 2)}\n`);
  } catch (cause) {
    throw new BenchError("bad-input", `Cannot write ${JSON.stringify(path)}: ${messageOf(cause)}`, {
      cause,
    });
  }
}

/** Moves the probe as a line on stdin says; a line that means nothing is answered with what would. */
function steer(simulation: Simulation, line: string): void {
  const [word, point] = line.trim().split(/\s+/);
  try {
    if (word === "probe" && point !== undefined) simulation.probe(point);
    else if (word === "lift") simulation.probe(null);
    else if (word !== "") say(`${JSON.stringify(line)} is not understood; type "probe POINT" or "lift"`);
  } catch (cause) {
    say(messageOf(cause));
  }
}

/** The recorder of the bench, where one is asked for. Throws BenchError "bad-input" for a supply that has no buffer. */
function recorderOf(
  { recorder, dialect }: { recorder?: "scope" | "supply" | "meter"; dialect: Dialect },
  scenario: ScenarioFile,
  board: BoardFile | null,
): Pick<SimulationOptions, "recorder"> {
  if (recorder === undefined) return {};
  if (recorder === "scope") return { recorder: { dialect: "list-preamble", record: usualRecord(scenario, board) } };
  if (recorder === "supply" && dialect !== "channel-list")
    throw new BenchError(
      "bad-input",
      `--recorder supply needs --dialect channel-list, not ${dialect}: no other simulated supply has a buffer`,
    );
  return { recorder: { inside: recorder, record: usualBuffer(recorder, scenario, board) } };
}

/**
 * Runs a simulation until SIGINT or SIGTERM: the bench file on stdout, everything for people on stderr. Throws BenchError
 * "bad-input" for a scenario that is not there and a file that cannot be written.
 */
export async function runSimulation(options: {
  scenario: string;
  dialect: Dialect;
  serial?: boolean;
  recorder?: "scope" | "supply" | "meter";
  seed: string;
  latency: string;
  out?: string;
  boardOut?: string;
  list?: boolean;
  json?: boolean;
}): Promise<void> {
  if (options.list === true) return listScenarios(options.json === true);
  const seed = Number(options.seed);
  if (!Number.isInteger(seed))
    throw new BenchError("bad-input", `--seed is ${JSON.stringify(options.seed)}; it should be a whole number`);
  const latencyMs = Number(options.latency);
  if (!(latencyMs >= 0 && latencyMs <= 1000))
    throw new BenchError(
      "bad-input",
      `--latency is ${JSON.stringify(options.latency)}; it should be milliseconds, 0 to 1000`,
    );
  const { scenario, board } = await loadScenario(options.scenario);
  const simulation = await startSimulation({
    scenario: options.scenario,
    traits: {
      latencyMs: scenario.supply.latencyMs ?? latencyMs,
      latencyJitterMs: scenario.supply.latencyJitterMs ?? latencyMs / 4,
    },
    dialect: options.dialect,
    transport: options.serial === true ? "pty" : "tcp",
    clock: realClock,
    ...recorderOf(options, scenario, board),
    seed,
  });
  const ended = new Promise<void>((resolve) => {
    for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) process.once(signal, () => resolve());
    // Started by a program that is gone: its outputs are still to be switched off before the simulated supply is.
    process.once("disconnect", () => setTimeout(resolve, ORPHAN_MS));
  });
  try {
    if (options.out !== undefined) await writeDocument(options.out, simulation.benchFile);
    if (options.boardOut !== undefined && simulation.boardFile !== undefined)
      await writeDocument(options.boardOut, simulation.boardFile);
    say(`${options.scenario}: ${simulation.scenario.title}`);
    say(
      `The verdict should be ${classInWords(simulation.scenario.expected.class)}: ${simulation.scenario.expected.why}.`,
    );
    const typed = Object.entries(simulation.coldOhms).map(([point, ohms]) => `--ohms ${point}=${ohms}`);
    say(typed.length === 0 ? "The scenario has no cold readings: use --waive." : `Cold readings: ${typed.join(" ")}`);
    say("Simulated instruments are up; Ctrl-C ends them.");
    printDocument(simulation.benchFile, options.json === true ? 0 : 2);
    const lines = createInterface({ input: process.stdin });
    lines.on("line", (line) => steer(simulation, line));
    // A socket waits for connections by itself; with stdin at its end, so does the signal.
    const awake = setInterval(() => {}, 60_000);
    await ended;
    clearInterval(awake);
    lines.close();
    process.stdin.destroy();
  } finally {
    // Listened to, the channel would keep this process for as long as its starter lives.
    if (process.connected) process.disconnect();
    await simulation.close();
  }
}
