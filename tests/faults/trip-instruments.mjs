/**
 * Simulated supplies in a process of their own, one for each bench that is tripped and one for the program that only
 * echoes. Each gives a bad reading some time after its output came on, and says how long the off took to come.
 */

import { loadScenario } from "../../dist/src/simulator/load-scenario.js";
import { startSimulation } from "../../dist/src/simulator/start-simulation.js";
import { realClock } from "../../dist/src/system/real-clock.js";

const { lanes } = JSON.parse(process.argv[2]);
/** A reading of this supply: volts, amps, mode, output, set volts, set amps. */
const READING = /^[^;]*;[^;]*;[^;]*;([01]);/;
const BAD = "9.9E37";
const LOOK_MS = 40;

const start = (seed) =>
  startSimulation({
    scenario: "single-feed",
    dialect: "numbered",
    transport: "tcp",
    clock: realClock,
    seed,
    historyLimit: 500,
    traits: { latencyMs: 5, latencyJitterMs: 1 },
  });

/** Milliseconds from the handing over of the bad reading to the off, by what the supply noted itself. */
function tookMs(simulation, badMs) {
  const isOff = ({ kind, text, atMs }) => kind === "command" && /^OUTP\d? OFF/.test(text) && atMs >= badMs;
  const off = simulation.history().find(isOff);
  return off === undefined ? null : off.atMs - badMs;
}

function spoil(simulation, who, isDue, then = () => {}) {
  simulation.misbehave.replies("psu", "all", {
    fault: "rewrite",
    as: (text) => {
      const output = READING.exec(text)?.[1];
      if (output === undefined || !isDue(output === "1")) return text;
      then();
      const badMs = realClock.nowMs();
      realClock.after(LOOK_MS, () => process.send({ who, tookMs: tookMs(simulation, badMs) }));
      return text.replace(/^[^;]*/, BAD);
    },
  });
}

const echo = await start(99);
let echoIsDue = false;
spoil(echo, "echo", () => {
  const due = echoIsDue;
  echoIsDue = false;
  return due;
});
const benches = [];
for (let lane = 0; lane < lanes; lane++) {
  const simulation = await start(lane + 1);
  let on = 0;
  const isDue = (isOn) => {
    on = isOn ? on + 1 : 0;
    return on === 2;
  };
  spoil(simulation, "program", isDue, () => {
    echoIsDue = true;
  });
  benches.push(simulation.benchFile);
}
const { board } = await loadScenario("single-feed");
process.send({ benches, board, echo: echo.benchFile.instruments.psu.address });
process.on("message", () => process.exit(0));
