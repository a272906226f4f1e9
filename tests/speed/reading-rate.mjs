/**
 * How many readings a second the program takes, by the simulated supply's own log, beside a loop that does nothing but
 * ask over the same kind of socket in the same run. Two values a round trip; the program as in production, with its bench
 * process, guardian and record.
 */
import { fork, spawn } from "node:child_process";
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { done, median, row, SHARE } from "./measure.mjs";

const here = (name) => fileURLToPath(new URL(name, import.meta.url));
const SECONDS = 5;
const ROUNDS = SHARE < 1 ? 1 : 3;
const CASES = [
  { latencyMs: 0, aim: 0.8 },
  { latencyMs: 10, aim: 0.95 },
];

const message = (child) => new Promise((resolve) => child.once("message", resolve));
const ended = (child) => new Promise((resolve) => child.once("close", resolve));
const rate = ({ count, seconds }) => count / seconds;

async function readings(simulator) {
  const answer = message(simulator);
  simulator.send("readings");
  return answer;
}

async function bareLoop(simulator, address, lines) {
  const child = fork(here("./bare-loop.mjs"), [JSON.stringify({ address, lines, seconds: SECONDS + 1.2 })]);
  if ((await ended(child)) !== 0) throw new Error("the bare loop failed");
  return rate(await readings(simulator));
}

async function program(simulator, folder, round) {
  const args = ["powerup", "--json", "--bench", join(folder, "bench.json"), "--board", join(folder, "board.json")];
  args.push(
    "--data",
    join(folder, `data-${round}`),
    "--watch",
    String(SECONDS + 1),
    "--cooler",
    "cooler",
    "--waive",
    "a speed run",
  );
  const child = spawn(process.execPath, [here("../../dist/src/main.js"), ...args], {
    stdio: ["ignore", "ignore", "pipe"],
  });
  let said = "";
  child.stderr.on("data", (bytes) => {
    said += bytes;
  });
  const code = await ended(child);
  if (code !== 0) throw new Error(`powerup ended with ${code}:\n${said}`);
  return readings(simulator);
}

async function measure({ latencyMs, aim }) {
  const simulator = fork(here("./simulator-process.mjs"), [JSON.stringify({ scenario: "single-feed", latencyMs })]);
  const folder = await mkdtemp(join(tmpdir(), "firstamp-speed-"));
  try {
    const { bench, board } = await message(simulator);
    await writeFile(join(folder, "bench.json"), JSON.stringify(bench));
    await writeFile(join(folder, "board.json"), JSON.stringify(board));
    const { address } = bench.instruments.psu;
    const rates = { ours: [], bare: [], two: [] };
    for (let round = 0; round < ROUNDS; round++) {
      const ours = await program(simulator, folder, round);
      rates.ours.push(rate(ours));
      rates.bare.push(await bareLoop(simulator, address, ours.lines));
      rates.two.push(await bareLoop(simulator, address, ["MEAS1:VOLT?;:MEAS1:CURR?"]));
    }
    const ratios = rates.ours.map((each, round) => each / rates.bare[round]);
    row({
      what: `readings, each answer after ${latencyMs} ms`,
      measured: median(rates.ours),
      unit: "readings/s",
      baseline: median(rates.ours) / median(ratios),
      baselineIs: `a bare loop with the same questions; with volts and amps alone ${Math.round(median(rates.two))}/s`,
      aim: { least: aim, of: "ratio" },
      note: `ratio of each round ${ratios.map((each) => each.toFixed(2)).join(", ")}`,
    });
  } finally {
    simulator.send("end");
    await ended(simulator);
    await rm(folder, { recursive: true, force: true });
  }
}

for (const each of CASES) await measure(each);
done();
