import { afterEach } from "vitest";
import type { BenchFile } from "../../shared/files/bench-file.ts";
import type { RunOutcome } from "../../shared/plan.ts";
import type { WireAnswer } from "../../shared/wire.ts";
import type { RunRequest } from "../../shared/wire-request.ts";
import { type PoweredBench, poweredBench } from "./powered-bench.ts";
import { endPrograms } from "./run-program.ts";
import { askedOf, isStarted, onceInTime, type Script, type Served, serveProgram, waiverFor } from "./served-bench.ts";

const closing: (() => Promise<void>)[] = [];

/** Called once in a file of tests: after each of them its programs end, and then what it opened. */
export function closeAfterEach(): void {
  afterEach(async () => {
    await endPrograms();
    for (const close of closing.splice(0).reverse()) await close();
  });
}

/** Closes this too after the test. */
export const closeLater = (close: () => Promise<void>): void => void closing.push(close);

export async function openBench(scenario = "single-feed"): Promise<PoweredBench> {
  const bench = await poweredBench({ scenario });
  closeLater(bench.close);
  return bench;
}

export const filesOf = ({ folder }: PoweredBench): string[] => [
  "--bench",
  `${folder.path}/bench.json`,
  "--board",
  `${folder.path}/board.json`,
];

/** The program's daemon on a simulated bench, a script that has its page's socket, and its control. */
export interface OpenDaemon {
  bench: PoweredBench;
  served: Served;
  by: Script;
  lease: number;
}

/** `benchFile` is written in place of the simulated bench's own, `board` in place of its board file. */
export async function openDaemon(
  bench: PoweredBench,
  files: { benchFile?: BenchFile; board?: object } = {},
): Promise<OpenDaemon> {
  if (files.benchFile !== undefined) await bench.folder.write("bench.json", files.benchFile);
  if (files.board !== undefined) await bench.folder.write("board.json", files.board);
  const served = await serveProgram(filesOf(bench), `${bench.folder.path}/data`);
  const by = await served.script();
  await benchUntil(by, (connected) => connected);
  return { bench, served, by, lease: await by.takeLease() };
}

/** The first `bench` message, or the snapshot's own bench, that fits. */
export async function benchUntil(by: Script, fits: (connected: boolean, warnings: string) => boolean): Promise<void> {
  const fitting = ({ instruments, warnings }: { instruments: { connected: boolean }[]; warnings: string[] }): boolean =>
    fits(instruments.length > 0 && instruments.every((each) => each.connected), warnings.join("\n"));
  if (by.client.has("snapshot") && fitting((await by.client.next("snapshot")).snapshot.bench)) return;
  while (!fitting((await by.client.next("bench")).bench));
}

/** Starts a run, every condition that was not done waived, and answers with what comes of the start. */
export async function begin(
  { bench, by, lease }: OpenDaemon,
  more: Partial<RunRequest> = {},
): Promise<{ answer: Promise<WireAnswer> }> {
  const asked = askedOf(bench.simulation, more);
  const preview = await by.preview(asked);
  return { answer: by.start({ ...asked, waiver: waiverFor(preview) }, preview, lease) };
}

/** A run that has begun, by its id. */
export async function begun(open: OpenDaemon, more: Partial<RunRequest> = {}): Promise<string> {
  const answer = await (await begin(open, more)).answer;
  if (!isStarted(answer)) throw new Error(`not started: ${JSON.stringify(answer)}`);
  return answer.run;
}

/**
 * Starts a run on the bench and waits until it is held on after its verdict. One that this machine had no time for has no
 * verdict, only an end; it is done again.
 */
export async function hold(open: OpenDaemon, more: Partial<RunRequest> = {}): Promise<string> {
  const { run } = await onceInTime(async () => {
    const first = firstWordOn(open.by);
    const started = await begun(open, { keepOn: true, ...more });
    const isHeld = (await first(started)) === "verdict";
    return { run: started, trip: isHeld ? null : (await outcomeOf(open.by, started)).trip };
  });
  return run;
}

/** Listens from now on; then says whether a run's verdict or its end came first, without taking it from the test. */
function firstWordOn({ client }: Script): (run: string) => Promise<"verdict" | "outcome"> {
  const words: { word: "verdict" | "outcome"; run: string }[] = [];
  let heard = (): void => {};
  client.socket.on("message", (data: Buffer) => {
    const message = JSON.parse(data.toString()) as { type: string; run: string; verdict: { run: string } };
    if (message.type === "verdict") words.push({ word: "verdict", run: message.verdict.run });
    if (message.type === "outcome") words.push({ word: "outcome", run: message.run });
    heard();
  });
  return async (run) => {
    for (;;) {
      const found = words.find((each) => each.run === run);
      if (found !== undefined) return found.word;
      await new Promise<void>((resolve) => {
        heard = resolve;
      });
    }
  };
}

export async function outcomeOf(by: Script, run: string): Promise<RunOutcome> {
  for (;;) {
    const ended = await by.client.next("outcome");
    if (ended.run === run) return ended.outcome;
  }
}
