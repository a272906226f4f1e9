import { type Clock, pause } from "../../shared/clock.ts";
import type { ArmedSupply, ArmFile, FromGuardian, ToGuardian } from "../../shared/guardian.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import type { Silence } from "../system/silence.ts";
import type { SwitchedOff } from "./switch-off.ts";

export interface GuardianOptions {
  clock: Clock;
  /** The bench process's signs of life. */
  silence: Silence;
  send: (message: FromGuardian) => void;
  /** Ends the bench process by force; one that is gone already is nothing to fail at. */
  endBench: (arm: ArmFile) => void;
  /**
   * One try at one supply: off written, then proved. Where it `isLate`, a link that does not open is not waited for. May
   * throw, and may never settle.
   */
  switchOff: (armed: ArmedSupply, isLate: boolean) => Promise<SwitchedOff>;
  /** Loads the code that a cut of these supplies needs. Where it throws, the arm is refused. */
  prepare: (arm: ArmFile) => void;
  /** Keeps the arm file on disk; throws where the disk does not take it. */
  keepArm: (arm: ArmFile) => void;
  /** Removes the arm file; throws where that fails. */
  forgetArm: () => void;
  /** Leaves word of a cut for the next start, in place of the word left before it. Throws where the disk does not take it. */
  leaveIncident: (arm: ArmFile, of: { why: string; tookMs: number; supplies: SwitchedOff[] }) => void;
  /** Ends this process: 0 when nothing is left to guard. */
  exit: (code: number) => void;
}

/** The bench process beats every 50 ms while it lives. */
const SILENT_MS = 250;
const LOOK_MS = 25;
/** After a try that did not prove a supply off: soon at first, since a killed process may hold a line for some moments. */
const AGAIN_SOON_MS = 250;
const SOON_TRIES = 4;
const AGAIN_MS = 1000;
/** A cut that is not proved by then leaves word of itself meanwhile. */
const EARLY_WORD_MS = 1000;
/** A link that neither opens nor fails must not keep the next try from being made. */
const TRY_WITHIN_MS = 15_000;

/**
 * The guardian without the process: does nothing while all is well. When the bench process is gone, or silent past
 * 250 ms while armed, it ends that process and switches every armed supply off. It tries once a second, for as long as it
 * lives, until all are proved off. A cut that takes longer than a second leaves its incident early, and again with each
 * news of it.
 */
export class Guardian {
  readonly #options: GuardianOptions;
  #arm: ArmFile | undefined;
  #isActing = false;

  constructor(options: GuardianOptions) {
    this.#options = options;
    this.#look();
  }

  /** True from the moment in which it took the outputs over; it then hears nobody any more. */
  get isActing(): boolean {
    return this.#isActing;
  }

  /** A message of the bench process; each of them, also one that nobody understands, is a sign of life. */
  receive(message: ToGuardian | null): void {
    const { clock, silence, send } = this.#options;
    silence.heard(clock.nowMs());
    if (message === null || this.#isActing) return;
    switch (message.type) {
      case "beat":
        return send({ type: "beat" });
      case "disarm":
        this.#arm = undefined;
        return attempt(() => this.#options.forgetArm());
      case "arm":
        try {
          this.#options.prepare(message.arm);
        } catch (cause) {
          return send({ type: "refused", id: message.id, because: messageOf(cause) });
        }
        this.#arm = message.arm;
        // The bytes are held in memory; the file only helps a person after a power cut.
        attempt(() => this.#options.keepArm(message.arm));
        return send({ type: "armed", id: message.id });
      default:
        message satisfies never;
    }
  }

  /** The pipe to the bench process has closed: that process is gone, or takes this one for lost. */
  disconnected(): void {
    if (this.#arm === undefined) this.#options.exit(0);
    else void this.#act("the bench process ended");
  }

  #look(): void {
    const { clock, silence } = this.#options;
    clock.after(LOOK_MS, () => {
      if (this.#isActing) return;
      const silentMs = silence.look(clock.nowMs(), SILENT_MS);
      if (silentMs > SILENT_MS) void this.#act(`the bench process was silent for ${Math.round(silentMs)} ms`);
      this.#look();
    });
  }

  async #act(why: string): Promise<void> {
    const { clock, endBench, exit } = this.#options;
    const arm = this.#arm;
    if (this.#isActing || arm === undefined) return;
    this.#isActing = true;
    const startedMs = clock.nowMs();
    attempt(() => endBench(arm));
    const said = new Map<string, SwitchedOff>(
      arm.supplies.map(({ name }) => [name, { name, output: "unknown", detail: "off is being written" }]),
    );
    const leave = (): void => {
      const tookMs = clock.nowMs() - startedMs;
      // A full or read-only disk costs the incident's file, never the cut.
      attempt(() => this.#options.leaveIncident(arm, { why, tookMs, supplies: [...said.values()] }));
    };
    let isLate = false;
    const callOffEarly = clock.after(EARLY_WORD_MS, () => {
      isLate = true;
      leave();
    });
    await Promise.all(
      arm.supplies.map(async (supply) => {
        for (let tries = 1; ; tries++) {
          const tried = await this.#try(supply, tries > SOON_TRIES);
          const isNews = said.get(supply.name)?.detail !== tried.detail;
          said.set(supply.name, tried);
          if (isLate && isNews) leave();
          if (tried.output === "off") return;
          await pause(clock, tries < SOON_TRIES ? AGAIN_SOON_MS : AGAIN_MS);
        }
      }),
    );
    callOffEarly();
    leave();
    exit(0);
  }

  /** One try, told as unknown where it throws or does not come back. */
  #try(armed: ArmedSupply, isLate: boolean): Promise<SwitchedOff> {
    const { clock, switchOff } = this.#options;
    const unknown = (detail: string): SwitchedOff => ({ name: armed.name, output: "unknown", detail });
    return new Promise((resolve) => {
      const callOff = clock.after(TRY_WITHIN_MS, () =>
        resolve(unknown(`the output was not proved off within ${TRY_WITHIN_MS / 1000} s`)),
      );
      void switchOff(armed, isLate)
        .catch((cause: unknown) => unknown(messageOf(cause)))
        .then((tried) => {
          callOff();
          resolve(tried);
        });
    });
  }
}

function attempt(work: () => void): void {
  try {
    work();
  } catch {
    // Whatever this cost, the cut goes on.
  }
}
