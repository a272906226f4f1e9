import { readFileSync } from "node:fs";

const folders = (names) => names.map((name) => `tests/${name}/`);

/** Tests of nothing but functions: no process, no clock. For vitest, which runs the files whose paths hold one of these. */
export const PURE = folders(JSON.parse(readFileSync(new URL("pure-folders.json", import.meta.url), "utf8")));
/** Those, and what else is done in a minute: links and instruments on them, the simulator, the house's own rules. */
export const QUICK = [...PURE, ...folders(["link", "instrument", "simulator", "house"])];
