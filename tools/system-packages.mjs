import { spawnSync } from "node:child_process";
import { accessSync, constants, existsSync, readdirSync, readFileSync } from "node:fs";
import { delimiter, join } from "node:path";
import { runStep } from "./run-step.mjs";

function onPath(name) {
  return (process.env.PATH ?? "").split(delimiter).some((folder) => {
    try {
      accessSync(join(folder, name), constants.X_OK);
      return true;
    } catch {
      return false;
    }
  });
}

function hasFonts() {
  if (process.platform !== "linux") return true;
  return (
    existsSync("/usr/share/fonts") &&
    readdirSync("/usr/share/fonts", { recursive: true }).some((name) => /\.(ttf|otf|pcf)/.test(name))
  );
}

/** The system's own Python: another one on the path does not see the distribution's packages. */
function pythonImports(...modules) {
  const python = existsSync("/usr/bin/python3") ? "/usr/bin/python3" : "python3";
  const found = `import importlib.util as u, sys; sys.exit(any(u.find_spec(m) is None for m in ${JSON.stringify(modules)}))`;
  return spawnSync(python, ["-c", found], { stdio: "ignore" }).status === 0;
}

/** Debian keeps the server's programs beside each other by version, off the path. */
function hasPostgres() {
  try {
    return readdirSync("/usr/lib/postgresql").some((version) =>
      existsSync(join("/usr/lib/postgresql", version, "bin", "initdb")),
    );
  } catch {
    return onPath("initdb");
  }
}

/** Debian's daemon lies where an ordinary user's path does not look. */
const hasMosquitto = () => onPath("mosquitto") || existsSync("/usr/sbin/mosquitto");

function debianLike() {
  try {
    return /^ID(_LIKE)?=.*(debian|ubuntu)/m.test(readFileSync("/etc/os-release", "utf8"));
  } catch {
    return false;
  }
}

const mayInstall = () => debianLike() && process.getuid?.() === 0;

/** Needed by the tests: real ptys, an independent circuit simulator and instrument client, option ROMs, two browsers
 * that draw text, a database server and a broker of a shop. */
export const testTools = {
  socat: () => onPath("socat"),
  ngspice: () => onPath("ngspice"),
  "python3-pyvisa-py": () => pythonImports("pyvisa", "pyvisa_py"),
  "ipxe-qemu": () => existsSync("/usr/lib/ipxe/qemu/pxe-e1000.rom"),
  "python3-serial": () => pythonImports("serial"),
  "firefox-esr": () => ["firefox-esr", "firefox"].some(onPath),
  chromium: () => ["chromium", "chromium-browser", "google-chrome"].some(onPath),
  "fonts-dejavu-core": hasFonts,
  postgresql: hasPostgres,
  mosquitto: hasMosquitto,
};

/** Tests do without these: the browser without windows takes three fifths of the processor time of the other. Nobody is asked to install it. */
export const spareTools = {
  "chromium-headless-shell": () => !mayInstall() || onPath("chromium-headless-shell"),
};

/** Names of the Debian packages of a table that this machine lacks. */
export function missingPackages(table) {
  return Object.keys(table).filter((name) => !table[name]());
}

/** Installs Debian packages when this process may; otherwise, or when it fails, a sentence for the person. */
export async function aptInstall(names) {
  if (!debianLike()) return { ok: false, sentence: `Install what this system calls: ${names.join(", ")}.` };
  const byHand = `Install them: sudo apt-get install ${names.join(" ")}`;
  if (process.getuid?.() !== 0) return { ok: false, sentence: `${byHand}.` };
  process.stderr.write(`firstamp: installing with apt-get what the tests need: ${names.join(" ")}\n`);
  const env = { DEBIAN_FRONTEND: "noninteractive" };
  await runStep("reading the system's package lists", "apt-get", ["update", "-q"], { env });
  const install = (which) =>
    runStep(`installing ${which.join(" ")}`, "apt-get", ["install", "-y", "-q", "--no-install-recommends", ...which], {
      env,
    });
  const { ok, output } = await install(names);
  if (ok) return { ok };
  // A name that this distribution does not know keeps apt-get from all the others.
  if (names.length > 1) for (const name of names) await install([name]);
  return { ok, sentence: `${output}\n${byHand}.` };
}
