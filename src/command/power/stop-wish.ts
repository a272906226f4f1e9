import type { BenchProcess } from "../../daemon/process/bench-process.ts";
import { EXIT } from "../input/exit-code.ts";
import { takeLateSignals } from "../input/late-signals.ts";
import { say, shoutOutputUnknown } from "../text/people.ts";

/** Whether somebody wants this to end, and who; `signal` fires when they do. */
export interface StopWish {
  readonly by: string | null;
  readonly signal: AbortSignal;
  release(): void;
}

/**
 * A signal cuts first, whatever is under way; what then ends a run is the machine's to say, and before a run it is asked
 * for in `by`. A second signal cuts again. An unexpected error cuts and ends the program.
 */
export function cutOnSignals(client: BenchProcess): StopWish {
  const stop = new AbortController();
  let by: string | null = null;
  /** Something is on, or was and is not proved off. */
  let unproved = false;
  client.on("events", ({ progress }) => {
    if (progress.energised.length > 0) unproved = true;
  });
  client.on("ended", ({ outcome }) => {
    unproved = outcome.output === "unknown";
  });
  client.on("alarm", ({ output }) => {
    unproved = output === "unknown";
  });
  client.on("lost", () => {
    unproved = true;
  });
  const wish = (who: string): void => {
    void client.cut(who);
    by ??= who;
    stop.abort();
  };
  const handlers = (["SIGINT", "SIGTERM", "SIGHUP"] as const).map((signal) => {
    const handler = (): void => wish(signal === "SIGINT" ? "Ctrl-C" : signal);
    process.on(signal, handler);
    return () => void process.off(signal, handler);
  });
  const crash = (cause: unknown): void => {
    wish("an unexpected error");
    say(`firstamp: ${cause instanceof Error ? (cause.stack ?? cause.message) : String(cause)}`);
    void client.close().then(() => {
      if (unproved) shoutOutputUnknown();
      process.exit(unproved ? EXIT.outputUnknown : EXIT.failed);
    });
  };
  process.on("uncaughtException", crash);
  process.on("unhandledRejection", crash);
  return {
    get by() {
      return by;
    },
    signal: stop.signal,
    release: () => {
      takeLateSignals();
      for (const off of handlers) off();
      process.off("uncaughtException", crash);
      process.off("unhandledRejection", crash);
    },
  };
}
