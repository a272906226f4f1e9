import type { Clock } from "../../shared/clock.ts";
import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { IDENTITY_QUERY } from "./exchange.ts";
import { type OffWrite, offWrites } from "./off-writes.ts";
import type { InstrumentSession } from "./session.ts";
import { fill, type Speech } from "./speech.ts";
import type { OffBytes } from "./supply.ts";

export interface OffLaneOptions {
  session: InstrumentSession;
  clock: Clock;
  speech: Speech;
  driver: SupplyDriver;
  /** Said after connecting; said again by a cut. */
  remote: string | undefined;
}

/** An instrument that was interrupted may take its time, however quick it was before. */
const LEAST_REPLY_MS = 500;

/** The way off, past every queue of the session. */
export class OffLane {
  readonly #options: OffLaneOptions;
  /** Offs that are still to be repeated, and who waits until none is. */
  #unrepeated = 0;
  #waiting: (() => void)[] = [];

  constructor(options: OffLaneOptions) {
    this.#options = options;
  }

  /**
   * Writes off in this same turn and again 50 ms later; with a question outstanding, or a closed link, on a fresh
   * connection too where that helps. Never throws: what could not be written is said by the proof.
   */
  cut(channels: readonly number[]): void {
    const { session, clock } = this.#options;
    const [first, ...later] = this.#writes(channels);
    if (first === undefined) return;
    const { written, hadOutstanding } = session.writeNow(first.text);
    if ((!written || hadOutstanding) && session.canWriteFresh) session.writeFresh(first.text).catch(() => {});
    for (const write of later) {
      this.#unrepeated++;
      clock.after(write.afterMs, () => {
        session.writeAlso(write.text);
        this.#repeated();
      });
    }
  }

  #repeated(): void {
    this.#unrepeated--;
    if (this.#unrepeated > 0) return;
    for (const goOn of this.#waiting.splice(0)) goOn();
  }

  /**
   * Waits until no off is still to be repeated: it would undo an on that was meant. Not by the time: where the process was held up, a
   * later timer may ring first.
   */
  async over(): Promise<void> {
    if (this.#unrepeated > 0) await new Promise<void>((goOn) => this.#waiting.push(goOn));
  }

  /** The data that the guardian needs to do the same without knowing a driver. */
  bytes(
    channels: readonly number[],
    { identity, zeroAmps, stepVolts }: Pick<OffBytes, "identity" | "zeroAmps" | "stepVolts">,
  ): OffBytes {
    const { session, speech, driver } = this.#options;
    const { terminator, gapMs, replyMs } = session.wire;
    const framed = (lines: readonly string[]): string => lines.map((line) => line + terminator).join("");
    const questions = (template: string): string[] =>
      channels.map((channel) => framed(speech.linesFor(fill(template, { channel }), channel)));
    return {
      // The first terminator ends whatever was half written when the other process stopped.
      off: this.#writes(channels).map(({ afterMs, text }) => ({ afterMs, text: terminator + framed([text]) })),
      gapMs,
      replyMs: Math.max(LEAST_REPLY_MS, replyMs),
      state: questions(driver.operations.askOutput),
      offAnswers: ["0", "+0", "OFF"],
      current: questions(driver.operations.measureAmps),
      zeroAmps,
      volts: questions(driver.operations.measureVolts),
      stepVolts,
      identityQuery: IDENTITY_QUERY + terminator,
      identity,
    };
  }

  #writes(channels: readonly number[]): OffWrite[] {
    const { session, speech, driver, remote } = this.#options;
    const { terminator, gapMs } = session.wire;
    const outputOff = (channel: number): string => fill(driver.operations.outputOff, { channel });
    return offWrites({ speech, outputOff, channels, terminator, gapMs, remote });
  }
}
