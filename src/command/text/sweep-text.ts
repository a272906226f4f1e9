import type { SweepLine, SweepQuantity, SweepRail } from "../../../shared/sweep.ts";
import { sayOhms, saySpan, sayVolts } from "../../../shared/words/amounts.ts";
import { classInWords } from "../../../shared/words/class-words.ts";
import type { ActiveRun } from "../../daemon/run/active-run.ts";
import { shortId } from "../../job/store/uuid-v7.ts";
import { railAmpsText } from "../../verdict/sweep/part-amps.ts";
import { showProgress } from "../power/follow-run.ts";
import { diagnosisText } from "./diagnosis-text.ts";
import { LiveLine, sayAloud } from "./people.ts";

type Valued = Pick<SweepRail, "volts" | "ohms" | "diodeVolts" | "mostOhms">;

/** A value as a person reads it; "no reading" where there is none. */
function valueText({ volts, ohms, diodeVolts, mostOhms }: Valued): string {
  if (typeof volts === "number") return sayVolts(volts);
  if (typeof ohms === "number") return `${mostOhms === undefined ? "" : "≥ "}${sayOhms(ohms)}`;
  if (typeof diodeVolts === "number") return `${sayVolts(diodeVolts)} (diode)`;
  return ohms === "open" || diodeVolts === "open" ? "open" : "no reading";
}

const limitsText = (limits: readonly [number | null, number | null], quantity: SweepQuantity): string => {
  const span = saySpan(limits, quantity === "ohms" ? "Ω" : "V");
  return span === null ? "" : ` (${span})`;
};

const MOTION: Record<Extract<SweepLine, { event: "reading" }>["motion"], string> = {
  lifted: "in the air",
  touching: "hold still",
  moving: "moving",
  rising: "still rising",
  steady: "steady",
  charged: "charged: discharge first",
};

/**
 * A sweep on a person's terminal: the rail and where its point is, the live reading in place, a tone when a value is
 * taken, two when it is questioned or bad.
 */
export class SweepText {
  readonly #line = new LiveLine();
  readonly #said = new Set<string>();
  #where = "";

  show(line: SweepLine): void {
    if (line.event === "reading") {
      this.#line.show({
        step: `${line.rail} ${line.motion}`,
        plain: `${line.rail}: ${MOTION[line.motion]}`,
        live: (width) => `${this.#where || line.rail}: ${valueText(line)}, ${MOTION[line.motion]}`.slice(0, width),
      });
      return;
    }
    if (line.event === "cooling") {
      const { secondsLeft, rail, because } = line;
      const plain = `cooling: ${because}${rail === null ? "" : `; then on at ${rail}`}`;
      this.#line.show({
        step: "cooling",
        plain,
        live: (width) => `cooling, ${secondsLeft} s left${rail === null ? "" : `; then on at ${rail}`}`.slice(0, width),
      });
      return;
    }
    this.#line.end();
    const text = this.#textOf(line);
    if (text !== null) sayAloud(text, tonesFor(line));
  }

  #textOf(line: Exclude<SweepLine, { event: "reading" | "cooling" }>): string | null {
    switch (line.event) {
      case "draw":
        return `The draw: ${classInWords(line.class)}, watched for ${line.watchedFor} s. The board stays on.`;
      case "place-probe":
        this.#where = `${line.rail}: ${line.point}`;
        return `> ${line.rail}: put the probe on ${line.point}${limitsText(line.limits, line.quantity)}; ${line.left} to go`;
      case "question":
        return `? ${line.rail}: ${valueText(line)} is ${line.because} It is measured once more, then accepted.`;
      case "rail":
        return this.#railText(line);
      case "hint":
        return `  ${line.text}`;
      case "mark":
        return `  Filed: ${line.text}.`;
      case "next":
        return null;
      case "done":
        return doneText(line);
    }
  }

  /** The verdict with what it rests on; a remark that holds for every rail is made once. */
  #railText(rail: SweepRail): string {
    const [reads = rail.rail, ...remarks] = rail.because;
    const fresh = remarks.filter((each) => !this.#said.has(each));
    for (const each of fresh) this.#said.add(each);
    return [
      `  ${(rail.said ?? rail.verdict).toUpperCase()}  ${reads}`,
      ...fresh.map((each) => `  - ${each}`),
      ...(rail.neverPower === null ? [] : [`  NEVER POWER IT: ${rail.neverPower}`]),
    ].join("\n");
  }

  /** Shows a power-up while it goes through its stages; from then on the probe has the line. */
  follow(run: ActiveRun): void {
    const stop = showProgress(run, this.#line);
    run.on("holding", stop);
  }

  /** A sentence of its own, after so many tones. */
  say(text: string, tones = 0): void {
    this.#line.end();
    sayAloud(text, tones);
  }

  end(): void {
    this.#line.end();
  }
}

/** One tone for a value that is taken, two for one that is questioned or bad. */
function tonesFor(line: SweepLine): number {
  if (line.event === "question") return 2;
  if (line.event !== "rail") return 0;
  return line.verdict === "pass" || line.said !== undefined ? 1 : 2;
}

const ENDED: Record<Extract<SweepLine, { event: "done" }>["ended"], string> = {
  "all-visited": "All points visited",
  stopped: "Stopped",
  cut: "Cut",
  "board-stopped": "Stopped because of the board",
  failed: "Failed",
};

function doneText(done: Extract<SweepLine, { event: "done" }>): string {
  const count = new Map<string, number>();
  for (const { said, verdict } of done.rails) count.set(said ?? verdict, (count.get(said ?? verdict) ?? 0) + 1);
  const counts = [...count].map(([verdict, n]) => `${n} ${verdict}`).join(", ");
  return [
    `${ENDED[done.ended]}${done.because.length === 0 ? "" : `: ${done.because.join("; ")}`}. ${counts}.`,
    ...(done.alike?.because ?? []),
    ...(done.railAmps ?? []).map(railAmpsText),
    ...done.neverPower.map((sentence) => `NEVER POWER IT: ${sentence}`),
    ...(done.diagnosis === null ? [] : [diagnosisText(done.diagnosis)]),
    `Output: ${done.output}`,
    ...(done.job === null ? [] : [`Filed with job ${shortId(done.job)}`]),
  ].join("\n");
}
