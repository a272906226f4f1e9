import { BenchError } from "../../shared/bench-error.ts";
import type { InstrumentSession } from "./session.ts";
import type { Turn } from "./turn.ts";

const TRIES = 3;

/**
 * Runs a turn of questions, up to three times where an answer was lost, was no answer, or the connection was replaced
 * meanwhile; the link is fenced in between. For questions only: a setting is never sent twice blindly.
 */
export async function askAgain<T>(session: InstrumentSession, work: (turn: Turn) => Promise<T>): Promise<T> {
  for (let each = 1; ; each++) {
    try {
      return await session.exclusive(work);
    } catch (cause) {
      const isWorthIt =
        cause instanceof BenchError &&
        (cause.code === "no-reply" || cause.code === "bad-reply" || cause.code === "link-closed");
      if (!isWorthIt || each === TRIES) throw cause;
      if (cause.code === "bad-reply") session.doubt(cause.message);
    }
  }
}
