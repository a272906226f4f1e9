import { readdir } from "node:fs/promises";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { BenchError } from "../../shared/bench-error.ts";
import { BoardFile } from "../../shared/files/board-file.ts";
import { ScenarioFile } from "../../shared/files/scenario-file.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { parseJson } from "../system/parse-json.ts";
import { readPlainFile } from "../system/read-plain-file.ts";

export interface LoadedScenario {
  name: string;
  scenario: ScenarioFile;
  board: BoardFile | null;
}

/** The folder of shipped scenarios, from the sources as from the build. */
async function scenarioFolder(): Promise<string> {
  const here = dirname(fileURLToPath(import.meta.url));
  for (const up of ["../..", "../../.."]) {
    const folder = resolve(here, up, "scenarios");
    try {
      if ((await readdir(folder)).some((file) => file.endsWith(".json"))) return folder;
    } catch {
      // Not there: try the next place.
    }
  }
  throw new BenchError("bad-input", "Cannot find the folder of scenarios beside the program; reinstall it");
}

/** Names of the shipped scenarios, sorted. */
export async function scenarioNames(): Promise<string[]> {
  const files = await readdir(await scenarioFolder());
  return files
    .filter((file) => file.endsWith(".json"))
    .map((file) => file.slice(0, -".json".length))
    .sort();
}

async function readJson(path: string): Promise<unknown> {
  let text: string;
  try {
    text = await readPlainFile(path);
  } catch (cause) {
    throw new BenchError("bad-input", `Cannot read ${JSON.stringify(path)}: ${messageOf(cause)}`, { cause });
  }
  try {
    return parseJson(text);
  } catch (cause) {
    throw new BenchError("bad-input", `${JSON.stringify(path)} is not JSON: ${messageOf(cause)}`, { cause });
  }
}

const problems = (issues: readonly { path: PropertyKey[]; message: string }[]): string =>
  issues.map((issue) => `${issue.path.map(String).join(".") || "the file"}: ${issue.message}`).join("; ");

/**
 * Reads a shipped scenario by its name, or any by its path (one with a slash or ending in .json), with its board file.
 * Throws BenchError "bad-input" with the file, the field and what it should be.
 */
export async function loadScenario(nameOrPath: string): Promise<LoadedScenario> {
  const isPath = nameOrPath.includes("/") || nameOrPath.endsWith(".json");
  if (!isPath) {
    const names = await scenarioNames();
    if (!names.includes(nameOrPath)) {
      throw new BenchError(
        "bad-input",
        `There is no scenario ${JSON.stringify(nameOrPath)}; the scenarios are ${names.join(", ")}`,
      );
    }
  }
  const path = isPath ? resolve(nameOrPath) : join(await scenarioFolder(), `${nameOrPath}.json`);
  const parsed = ScenarioFile.safeParse(await readJson(path));
  if (!parsed.success) throw new BenchError("bad-input", `${JSON.stringify(path)}: ${problems(parsed.error.issues)}`);
  const scenario = parsed.data;
  if (scenario.board === undefined) return { name: nameOrPath, scenario, board: null };
  if (typeof scenario.board !== "string") return { name: nameOrPath, scenario, board: scenario.board };
  const boardPath = resolve(dirname(path), scenario.board);
  const board = BoardFile.safeParse(await readJson(boardPath));
  if (!board.success)
    throw new BenchError("bad-input", `${JSON.stringify(boardPath)}: ${problems(board.error.issues)}`);
  return { name: nameOrPath, scenario, board: board.data };
}
