import { createHash } from "node:crypto";
import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { WireAnswer } from "../../../shared/wire.ts";
import type { RunRequest } from "../../../shared/wire-request.ts";

/** Of one session; the oldest of more is forgotten. */
const MOST = 16;

interface Shown {
  job: string | null;
  board: string;
  bench: string;
  /** The kind of run, with all that was asked of it. */
  task: string;
}

/**
 * Which permits each session was shown, and for what. A permit is for one job, one board, one bench and one kind of run, and for one start: a
 * run that begins uses all of them up, and what is done to a board makes those of its job worthless.
 */
export class ShownPermits {
  readonly #shown = new Map<string, Shown[]>();

  /** A session was shown the permit of a request. */
  show(session: string, request: RunRequest, bench: BenchFile | null): void {
    const known = (this.#shown.get(session) ?? []).filter((each) => !isSame(each, shownOf(request, bench)));
    this.#shown.set(session, [...known, shownOf(request, bench)].slice(-MOST));
  }

  /** Why a session may not start what it asks for; null where it was shown the permit of just that. */
  refusal(session: string, request: RunRequest, bench: BenchFile | null): WireAnswer | null {
    // Without a bench nothing can be started, which is said where it is prepared.
    if (bench === null) return null;
    const wanted = shownOf(request, bench);
    const known = this.#shown.get(session) ?? [];
    if (known.some((each) => isSame(each, wanted))) return null;
    const differs = (["job", "board", "bench", "task"] as const).filter((what) =>
      known.every((each) => each[what] !== wanted[what]),
    );
    const why =
      known.length === 0
        ? "the permit has not been checked since the last run or repair"
        : `the permit that was checked is for another ${differs.length === 0 ? "job and board" : differs.map((each) => (each === "task" ? "kind of run" : each)).join(" and another ")}`;
    return {
      result: "refused",
      code: "other-permit",
      because: `This cannot be started: ${why}. Check the permit for this job. Nothing was energised.`,
    };
  }

  /** The board of a job is not what it was. */
  boardChanged(job: string): void {
    for (const [session, known] of this.#shown)
      this.#shown.set(
        session,
        known.filter((each) => each.job !== job),
      );
  }

  /** A run begins: each permit was for one start. */
  useUp(): void {
    this.#shown.clear();
  }
}

const shownOf = (request: RunRequest, bench: BenchFile | null): Shown => ({
  job: request.job,
  board: request.board === null ? "" : createHash("sha256").update(request.board).digest("hex"),
  bench: createHash("sha256").update(JSON.stringify(bench)).digest("hex"),
  task: JSON.stringify(request.task ?? null),
});

const isSame = (a: Shown, b: Shown): boolean =>
  a.job === b.job && a.board === b.board && a.bench === b.bench && a.task === b.task;
