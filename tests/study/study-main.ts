import { fork } from "node:child_process";
import { writeFile } from "node:fs/promises";
import { availableParallelism } from "node:os";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import type { Calibration } from "../../src/verdict/calibrate.ts";
import { figuresOf, fittedCalibration, reliabilityOf } from "./study-figures.ts";
import { type StudyOutcome, studiedPowerUp, studyOutcome } from "./study-part.ts";
import { reliabilityPicture, studyReport } from "./study-report.ts";

/** Boards and meters of the two draws have nothing in common but the way they are drawn. */
const TRAINING_SEED = 7001;
const TEST_SEED = 7002;
const BATCH = 100;

const { values } = parseArgs({
  options: {
    root: { type: "string" },
    "power-ups": { type: "string", default: "20000" },
    training: { type: "string", default: "8000" },
    fit: { type: "boolean", default: false },
    part: { type: "boolean", default: false },
    show: { type: "string" },
  },
});

interface Wanted {
  seed: number;
  from: number;
  to: number;
  raw: boolean;
}

function workOnParts(): void {
  const nothing: Calibration = {};
  process.on("message", ({ seed, from, to, raw }: Wanted) => {
    const outcomes: StudyOutcome[] = [];
    for (let index = from; index < to; index++) outcomes.push(studyOutcome(seed, index, raw ? nothing : undefined));
    process.send?.(outcomes);
  });
}

/** Runs `n` power-ups on all processors, in batches, with a line of progress for each twentieth. */
async function ran(what: string, n: number, wanted: { seed: number; raw: boolean }): Promise<StudyOutcome[]> {
  const done: StudyOutcome[][] = [];
  const fromMs = Date.now();
  let next = 0;
  let finished = 0;
  let said = 0;
  await Promise.all(
    Array.from({ length: Math.max(2, availableParallelism()) }, () => {
      const child = fork(fileURLToPath(import.meta.url), ["--part"], { serialization: "advanced" });
      return new Promise<void>((resolve, reject) => {
        let from = 0;
        const give = (): void => {
          if (next >= n) {
            child.disconnect();
            return;
          }
          from = next;
          next = Math.min(n, next + BATCH);
          child.send({ ...wanted, from, to: next });
        };
        child.on("message", (outcomes: StudyOutcome[]) => {
          done[from / BATCH] = outcomes;
          finished += outcomes.length;
          if (finished >= said + n / 20) {
            said = finished;
            process.stdout.write(
              `${what}: ${finished} of ${n} power-ups, ${((Date.now() - fromMs) / 1000).toFixed(0)} s\n`,
            );
          }
          give();
        });
        child.on("error", reject);
        child.on("exit", (code) =>
          code === 0 ? resolve() : reject(new Error(`a part of the study ended with ${code}`)),
        );
        give();
      });
    }),
  );
  return done.flat();
}

async function calibrateAnew(root: string): Promise<void> {
  const outcomes = await ran("training", Number(values.training), { seed: TRAINING_SEED, raw: true });
  const entries = Object.entries(fittedCalibration(outcomes)).map(
    ([key, shift]) => `  ${/^[a-z]+$/.test(key) ? key : JSON.stringify(key)}: ${shift},\n`,
  );
  await writeFile(
    `${root}/src/verdict/calibration.ts`,
    `import type { Calibration } from "./calibrate.ts";

/**
 * Shifts of log odds, fitted by \`npm run study -- --fit\` on ${outcomes.length} simulated power-ups (seed ${TRAINING_SEED}). From simulated boards in
 * a mix that is common practice, no source: weak, until a shop's own confirmed jobs replace them.
 */
export const CALIBRATION: Calibration = {
${entries.join("")}};
`,
  );
}

async function report(root: string): Promise<void> {
  const outcomes = await ran("study", Number(values["power-ups"]), { seed: TEST_SEED, raw: false });
  const run = { seed: TEST_SEED, trainingSeed: TRAINING_SEED, training: Number(values.training) };
  await writeFile(`${root}/docs/verdict-study.md`, studyReport(outcomes, run));
  await writeFile(`${root}/docs/verdict-study.svg`, reliabilityPicture(reliabilityOf(outcomes).bins));
  process.stdout.write(`${JSON.stringify(figuresOf(outcomes))}\ndocs/verdict-study.md\n`);
}

/** One power-up of the tests' draw, to see why it was judged as it was. */
function show(index: number): void {
  const { study, meter, verdict } = studiedPowerUp(TEST_SEED, index);
  const { board, ...drawn } = study;
  process.stdout.write(`${JSON.stringify({ ...drawn, bands: board.idleAmps[0]?.bands, meter, verdict }, null, 1)}\n`);
}

if (values.part) workOnParts();
else if (values.show !== undefined) show(Number(values.show));
else if (values.root !== undefined) await (values.fit ? calibrateAnew(values.root) : report(values.root));
