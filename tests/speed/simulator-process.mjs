/** A simulated bench in a process of its own, for the speed runs: says its bench file, then the lines it was asked when told to. */

import { loadScenario } from "../../dist/src/simulator/load-scenario.js";
import { startSimulation } from "../../dist/src/simulator/start-simulation.js";
import { realClock } from "../../dist/src/system/real-clock.js";

/** The last two milliseconds of a wait are spun: timers count whole ones, an instrument's latency does not. */
const exactClock = {
  nowMs: realClock.nowMs,
  after(ms, run) {
    const dueMs = realClock.nowMs() + ms;
    let over = false;
    const spin = () => {
      if (over) return;
      if (realClock.nowMs() >= dueMs) run();
      else setImmediate(spin);
    };
    const cancel = realClock.after(Math.max(0, ms - 2), spin);
    return () => {
      over = true;
      cancel();
    };
  },
};

const { scenario, latencyMs } = JSON.parse(process.argv[2]);
const simulation = await startSimulation({
  scenario,
  dialect: "numbered",
  transport: "tcp",
  clock: exactClock,
  traits: { latencyMs, latencyJitterMs: 0 },
});
const { board } = await loadScenario(scenario);
process.send({ bench: simulation.benchFile, board });

/**
 * The questions for readings that came between an output's last on and its next off, or up to now, past a settling second. The
 * history keeps its last entries only: of a quick loop the on itself may be gone, and then the loop is what it begins with.
 */
function readings() {
  const history = simulation.history();
  const isOn = (entry) => entry.kind === "state" && / output on /.test(entry.text);
  const on = history.findLastIndex(isOn);
  const first = history[0]?.atMs ?? 0;
  const from = on === -1 ? first : Math.max(first, history[on].atMs + 1000);
  const off = history.findIndex(
    (entry, index) => index > on && entry.kind === "state" && / output off /.test(entry.text),
  );
  const until = off < 0 ? history.at(-1).atMs : history[off].atMs;
  const asked = history.filter(
    ({ kind, text, atMs, instrument }) =>
      instrument === "psu" && kind === "command" && /MEAS\w*:VOLT/.test(text) && atMs >= from && atMs <= until - 200,
  );
  return { lines: asked.slice(-60).map(({ text }) => text), count: asked.length, seconds: (until - 200 - from) / 1000 };
}

process.on("message", (wish) => {
  if (wish === "readings") process.send(readings());
  else void simulation.close().then(() => process.exit(0));
});
