const folders = (names) => names.map((name) => `tests/${name}/`);

/** Tests of nothing but functions: no process, no clock. For vitest, which runs the files whose paths hold one of these. */
export const PURE = folders(["scpi", "plan", "sweep", "analysis", "verdict", "shared"]);
/** Those, and what else is done in a minute: links and instruments on them, the simulator, the house's own rules. */
export const QUICK = [...PURE, ...folders(["link", "instrument", "simulator", "house"])];
