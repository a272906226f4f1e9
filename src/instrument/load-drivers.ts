import { readdir } from "node:fs/promises";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { BenchError, quoted } from "../../shared/bench-error.ts";
import type { BenchFile } from "../../shared/files/bench-file.ts";
import { DriverFile, type OwnDrivers } from "../../shared/files/driver-file.ts";
import { parseJson } from "../system/parse-json.ts";
import { readPlainFile } from "../system/read-plain-file.ts";

const built = path.resolve(path.dirname(fileURLToPath(import.meta.url)), "..", "..");

/** The drivers that come with the program: `drivers/` beside `package.json`, from the source as well as from `dist/`. */
export const shippedDrivers: string = path.join(
  path.basename(built) === "dist" ? path.dirname(built) : built,
  "drivers",
);

export interface LoadedDrivers {
  drivers: DriverFile[];
  /** The file of each driver that did not come with the program, by the driver's name. */
  own: OwnDrivers;
}

/** The drivers that a bench file names, and the folder it lies in. */
export interface DriversWanted {
  folder: string;
  bench: Pick<BenchFile, "instruments">;
}

/**
 * Reads the shipped drivers, and of the bench file's folder only those that the bench file names: a driver decides what "off"
 * is, so a file that merely lies there must not become one. Throws BenchError "bad-input" naming file and field, also where
 * a driver in the folder has the name of a shipped one.
 */
export async function loadDrivers(wanted: DriversWanted | null): Promise<LoadedDrivers> {
  const drivers = new Map<string, DriverFile>();
  for (const file of (await readdir(shippedDrivers)).filter((each) => each.endsWith(".json")).sort()) {
    const driver = await readDriver(path.join(shippedDrivers, file));
    drivers.set(driver.name, driver);
  }
  const own: OwnDrivers = {};
  if (wanted === null) return { drivers: [...drivers.values()], own };
  const shipped = new Set(drivers.keys());
  const there = new Set(await readdir(wanted.folder));
  const named = Object.values(wanted.bench.instruments).map((each) => each.driver);
  for (const name of new Set(named)) {
    if (name === "auto" || !there.has(`${name}.json`)) continue;
    const file = path.join(wanted.folder, `${name}.json`);
    if (shipped.has(name)) {
      throw new BenchError(
        "bad-input",
        `Cannot choose driver ${quoted(name)}: a built-in driver has that name, and so has ${quoted(file)}; rename the file, and use the new name in the bench file; nothing was touched`,
      );
    }
    drivers.set(name, await readDriver(file));
    own[name] = file;
  }
  return { drivers: [...drivers.values()], own };
}

async function readDriver(file: string): Promise<DriverFile> {
  let content: unknown;
  try {
    content = parseJson((await readPlainFile(file)).replace(/^\uFEFF/, ""));
  } catch (cause) {
    const why = cause instanceof Error ? cause.message : String(cause);
    throw new BenchError("bad-input", `Cannot read driver file ${quoted(file)}: ${why}; nothing was touched`, {
      cause,
    });
  }
  const parsed = DriverFile.safeParse(content);
  if (!parsed.success) {
    const issues = parsed.error.issues
      .slice(0, MOST_ISSUES)
      .map(
        (each) => `${each.path.join(".").slice(0, LONGEST_PATH) || "the file"}: ${each.message.slice(0, LONGEST_PATH)}`,
      );
    throw new BenchError(
      "bad-input",
      `Cannot use driver file ${quoted(file)}: ${issues.join("; ")}; nothing was touched`,
      {
        detail: { file, issues },
      },
    );
  }
  const should = path.basename(file, ".json");
  if (parsed.data.name === should) return parsed.data;
  throw new BenchError(
    "bad-input",
    `Cannot use driver file ${quoted(file)}: its name is "${parsed.data.name}"; it should be "${should}", like the file name`,
  );
}

const MOST_ISSUES = 8;
const LONGEST_PATH = 120;
