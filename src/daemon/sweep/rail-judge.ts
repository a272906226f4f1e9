import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { MeterReadSetting } from "../../../shared/meter-reading.ts";
import type { HostCondition } from "../../../shared/record/diagnosis.ts";
import type { SweepCapture, SweepPoint, SweepRail } from "../../../shared/sweep.ts";
import type { IdlePoints, NextState } from "../../verdict/diagnosis/idle-points.ts";
import { withAmps } from "../../verdict/sweep/part-amps.ts";
import { type SweepExpectations, sweepExpectations } from "../../verdict/sweep/sweep-idle.ts";
import { judgeCapture } from "../../verdict/sweep/sweep-judge.ts";
import { diagnosisReadings } from "../../verdict/sweep/sweep-readings.ts";

export interface RailJudgeOptions {
  board: BoardFile;
  data: FaultData;
  cold: boolean;
  /** The host that was stated; null: nobody said. */
  host: HostCondition | null;
  /** Resistance of the return lead, where the black probe is at the supply's end of it; null: on the board's own ground. */
  returnOhms: number | null;
  /** Temperature of the parts over which millivolts are read; null not known. */
  partCelsius?: number | null;
}

/** A value of a point, how it was read, and the run that held the board on. */
export interface TakenValue {
  point: SweepPoint;
  capture: SweepCapture;
  setting: MeterReadSetting;
  run: string | null;
}

/**
 * Judges the values of a sweep by what can be expected of the board as it stands: by the host, by the state of power that a person said
 * it was brought to, and by the volts read so far. What comes up only later, or has nobody to drive it, is no fault while it is low.
 */
export class RailJudge {
  /** The state of power that a person said the board was brought to, since it was last switched on. */
  state: string | undefined;
  readonly #options: RailJudgeOptions;
  readonly #expects: SweepExpectations;
  readonly #rails: ReadonlyMap<number, SweepRail>;
  readonly #taken = new Map<number, TakenValue & { amps: number }>();
  readonly #hinted = new Set<string>();

  /** `rails` are the values so far, by the number of their point, as they will be when something is asked. */
  constructor(options: RailJudgeOptions, rails: ReadonlyMap<number, SweepRail>) {
    this.#options = options;
    this.#expects = sweepExpectations(options.board, options.data);
    this.#rails = rails;
  }

  /** A value as it was taken, judged. `amps` are what the board draws: over the return lead they lift its ground. */
  take(taken: TakenValue, amps: number): SweepRail {
    this.#taken.set(taken.capture.index, { ...taken, amps });
    return this.#judge({ ...taken, amps });
  }

  /** Values that are judged otherwise by what was read after them: the board was further than they let see. */
  *changed(): Generator<TakenValue & { index: number; rail: SweepRail }> {
    if (this.#options.cold) return;
    for (const [index, taken] of this.#taken) {
      const before = this.#rails.get(index);
      const rail = this.#judge(taken);
      if (rail.verdict !== before?.verdict || rail.said !== before.said) yield { ...taken, index, rail };
    }
  }

  #judge({ point, capture, amps }: TakenValue & { amps: number }): SweepRail {
    const { cold, board, returnOhms, partCelsius = null } = this.#options;
    const judged = judgeCapture(point, capture, {
      groundDropVolts: cold || point.kind === "part" ? 0 : amps * (returnOhms ?? 0),
      idle: cold ? null : (this.#idle().why.get(point.rail) ?? null),
      isBias: this.#expects.isBias(point.rail),
    });
    return withAmps(board, judged, partCelsius);
  }

  /** The state of power that comes next; null where the board has none. */
  get next(): NextState | null {
    return this.#idle().next;
  }

  /** Said once, at the first point that waits for it: what a person has to do to the board. Null where there is nothing to say. */
  hintAt(rail: string): string | null {
    if (this.#options.cold) return null;
    const idle = this.#idle();
    const why = idle.why.get(rail);
    if (why === undefined || this.#hinted.has(why)) return null;
    this.#hinted.add(why);
    const now = idle.next?.up.includes(rail) === true ? '. Do that now, and type "key"' : "";
    return `${rail}: ${why}${now}. While it is low, it cannot be judged.`;
  }

  #idle(): IdlePoints {
    const { board, host } = this.#options;
    const { volts, signals } = diagnosisReadings(board, [...this.#rails.values()], { draw: null, cold: {} });
    return this.#expects.idleAt({
      volts,
      signals,
      ...(host === null ? {} : { host }),
      ...(this.state === undefined ? {} : { state: this.state }),
    });
  }
}
