import { readdir, readFile } from "node:fs/promises";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { BenchError } from "../../shared/bench-error.ts";
import { DriverFile } from "../../shared/driver-file.ts";

const built = path.resolve(path.dirname(fileURLToPath(import.meta.url)), "..", "..");

/** The drivers that come with the program: `drivers/` beside `package.json`, from the source as well as from `dist/`. */
export const shippedDrivers: string = path.join(
  path.basename(built) === "dist" ? path.dirname(built) : built,
  "drivers",
);

/** A bench file's folder holds other JSON too: a driver has `version`, `name` and a `kind` of instrument. */
function looksLikeDriver(content: unknown): boolean {
  if (typeof content !== "object" || content === null) return false;
  const { kind, probe, name } = content as Record<string, unknown>;
  return typeof name === "string" && (kind === "supply" || kind === "meter" || probe !== undefined);
}

/**
 * Reads the shipped drivers and those in `directories`, later ones in place of earlier ones of the same name. A file that
 * is no driver at all is passed over outside the shipped folder. Throws BenchError "bad-input" naming file and field.
 */
export async function loadDrivers(directories: readonly string[]): Promise<DriverFile[]> {
  const drivers = new Map<string, DriverFile>();
  for (const directory of new Set([shippedDrivers, ...directories])) {
    const files = (await readdir(directory)).filter((each) => each.endsWith(".json")).sort();
    for (const file of files) {
      const driver = await readDriver(path.join(directory, file), { mustBeOne: directory === shippedDrivers });
      if (driver !== undefined) drivers.set(driver.name, driver);
    }
  }
  return [...drivers.values()];
}

async function readDriver(file: string, options: { mustBeOne: boolean }): Promise<DriverFile | undefined> {
  let content: unknown;
  try {
    content = JSON.parse(await readFile(file, "utf8"));
  } catch (cause) {
    if (!options.mustBeOne) return undefined;
    throw new BenchError("bad-input", `Cannot read driver file ${file}: ${String(cause)}`, { cause });
  }
  if (!options.mustBeOne && !looksLikeDriver(content)) return undefined;
  const parsed = DriverFile.safeParse(content);
  if (!parsed.success) {
    const issues = parsed.error.issues.map((each) => `${each.path.join(".") || "the file"}: ${each.message}`);
    throw new BenchError("bad-input", `Cannot use driver file ${file}: ${issues.join("; ")}`, {
      detail: { file, issues },
    });
  }
  const should = path.basename(file, ".json");
  if (parsed.data.name === should) return parsed.data;
  throw new BenchError(
    "bad-input",
    `Cannot use driver file ${file}: its name is "${parsed.data.name}"; it should be "${should}", as the file is called`,
  );
}
