import { BenchError } from "../../../shared/bench-error.ts";
import { AskedThread } from "../../system/asked-thread.ts";
import { LastingThread } from "../../system/lasting-thread.ts";

/**
 * `here`, worked out beside this thread by the worker `file`, one input after the other. Where no thread can be had, or it ends in an
 * error that is not a BenchError of `here`, it is worked out on this thread instead.
 */
export function workAside<I, O>(file: string, here: (input: I) => O): (input: I) => Promise<O> {
  const thread = new LastingThread(file, null);
  return async (input) => {
    if (!AskedThread.canRun(file)) return here(input);
    try {
      return (await thread.ask(input)) as O;
    } catch (cause) {
      if (cause instanceof BenchError) throw cause;
      return here(input);
    }
  };
}
