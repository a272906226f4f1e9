import { readFileSync } from "node:fs";
import { join } from "node:path";
import { rolldown } from "rolldown";

/** What is started as a process or a thread of its own. */
const STARTED = [
  "main",
  "bench/main",
  "guardian/main",
  "daemon/process/judge-worker",
  "daemon/process/diagnose-worker",
  "daemon/reads/reads-worker",
  "job/database/sqlite-worker",
];
/** With native parts, or seldom needed and large: left to be found in node_modules. */
const LEFT_OUT = [
  /^serialport/,
  /^@serialport\//,
  /^@photostructure\//,
  /^fastify/,
  /^@fastify\//,
  /^pino/,
  /^ws$/,
  /^pg$/,
  /^mqtt$/,
];

/**
 * Modules that start together share one file, with those they need: each file more takes a command as long as a search. The first line that
 * takes a module has it.
 */
const TOGETHER = [
  {
    name: "first",
    test: /[\\/](?:message-of|counted|class-words|visible-text|exit-code|people|data-directory|refuse-debugger)\.js$/,
  },
  { name: "jobs", test: /[\\/]record[\\/]print-jobs\.js$/ },
];

/**
 * Puts what starts in a few files each, over the compiled ones in `src` of a build: a process reads dozens of files, not
 * hundreds, and is there in half the time. Parts lie as deep as the modules they are made of, whose paths stay right.
 */
export async function bundleStarted(src) {
  const input = Object.fromEntries(STARTED.map((name) => [name, join(src, `${name}.js`)]));
  const bundle = await rolldown({ input, platform: "node", external: LEFT_OUT });
  await bundle.write({
    dir: src,
    format: "esm",
    entryFileNames: "[name].js",
    chunkFileNames: "parts/[name]-[hash].js",
    // A third of some parts; licences stay.
    comments: { legal: true, annotation: false, jsdoc: false },
    minify: { compress: false, mangle: false, codegen: { removeWhitespace: true } },
    codeSplitting: { groups: TOGETHER },
  });
  await bundle.close();
  await bundleStick(src);
  if (readFileSync(join(src, "main.js"), "utf8").includes("import.meta.url"))
    throw new Error("src/main.js holds a module that looks for files beside itself; load it when it is needed");
}

/** What is carried to a test host: one file that needs nothing beside it. */
async function bundleStick(src) {
  const file = join(src, "host", "stick.js");
  const bundle = await rolldown({ input: file, platform: "node" });
  await bundle.write({ file, format: "esm" });
  await bundle.close();
  const foreign = [...readFileSync(file, "utf8").matchAll(/from "(?!node:)([^"]+)"/g)].map(([, name]) => name);
  if (foreign.length > 0)
    throw new Error(`src/host/stick.js needs ${foreign.join(", ")}; it should need nothing but Node`);
}
